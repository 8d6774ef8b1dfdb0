"""The owner writes wages down by day; no figure of them stands in the activity."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.wages import WageInput, set_wage
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, Wage
from shopapp.queries.actuals import cost_rate_at

pytestmark = pytest.mark.django_db
Acting = Callable[[Person], Actor]
JUNE = WageInput(from_date=date(2026, 6, 1), hourly=Decimal("34.50"), burden=Decimal("0.22"))


def test_wage_counts_from_its_day(maren: Person, ilse: Person, by: Acting) -> None:
    set_wage(ilse.pk, JUNE, by=by(maren))
    set_wage(ilse.pk, WageInput(from_date=date(2026, 9, 1), hourly=Decimal(36)), by=by(maren))

    days = [date(2026, 5, 31), date(2026, 6, 1), date(2026, 8, 31), date(2026, 9, 1)]
    assert [cost_rate_at(ilse, day=day) for day in days] == [None, 420_900, 420_900, 360_000]


def test_same_day_again_replaces_the_wage(maren: Person, ilse: Person, by: Acting) -> None:
    set_wage(ilse.pk, JUNE, by=by(maren))
    set_wage(ilse.pk, replace(JUNE, hourly=Decimal(30)), by=by(maren))

    assert [(one.hourly_e4, one.burden_e4) for one in Wage.objects.filter(person=ilse)] == [(300_000, 2_200)]


def test_wage_is_recorded_without_its_figures(maren: Person, ilse: Person, by: Acting) -> None:
    set_wage(ilse.pk, JUNE, by=by(maren))

    row = Activity.objects.get(verb="set wage")
    assert json.loads(row.payload) == {"from": "2026-06-01"}
    assert ("34.5" in repr(JUNE), "0.22" in repr(JUNE)) == (False, False)


def test_wage_is_the_owners_to_say(ilse: Person, tobiah: Person, by: Acting) -> None:
    for person in (ilse, tobiah):
        with pytest.raises(NotAllowed, match="the owner's"):
            set_wage(ilse.pk, JUNE, by=by(person))

    assert Wage.objects.filter(person=ilse).count() == 0


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"hourly": Decimal(-1)}, "hourly"),
        ({"hourly": Decimal(100_001)}, "hourly"),
        ({"burden": Decimal("-0.01")}, "burden"),
        ({"burden": Decimal("5.01")}, "burden"),
    ],
)
def test_wage_that_is_none_is_refused(
    changes: dict[str, Decimal], field: str, maren: Person, ilse: Person, by: Acting
) -> None:
    with pytest.raises(BadInput) as refused:
        set_wage(ilse.pk, replace(JUNE, **changes), by=by(maren))

    assert (refused.value.field, Wage.objects.filter(person=ilse).count()) == (field, 0)

"""Values of a table are written all together or not at all."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.spec_book import add_family, add_value
from shopapp.actions.spec_imports import import_values
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, FluidCapacity, Person
from tests.factories.spec_book import GEARCASE, P60, VALUES

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def test_every_value_is_written_and_remembered(maren: Person, by: By) -> None:
    family = add_family(P60, by=by(maren))

    assert import_values(family.pk, VALUES, by=by(maren)) == len(VALUES)

    assert Activity.objects.filter(verb="import value").count() == len(VALUES)


def test_one_that_is_there_keeps_all_out(maren: Person, by: By) -> None:
    family = add_family(P60, by=by(maren))
    add_value(family.pk, GEARCASE, by=by(maren))

    with pytest.raises(BadInput, match=r"^point"):
        import_values(family.pk, [replace(GEARCASE, point="Sump"), GEARCASE], by=by(maren))

    assert [row.point for row in FluidCapacity.objects.all()] == ["Gearcase"]
    assert not Activity.objects.filter(verb="import value").exists()


def test_only_the_owner_brings_tables_and_none_is_empty(maren: Person, ilse: Person, by: By) -> None:
    family = add_family(P60, by=by(maren))

    with pytest.raises(NotAllowed):
        import_values(family.pk, [GEARCASE], by=by(ilse))
    with pytest.raises(BadInput, match=r"^table"):
        import_values(family.pk, [], by=by(maren))

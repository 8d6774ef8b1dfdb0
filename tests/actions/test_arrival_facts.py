"""What was written down at an arrival is put right, the promise is moved; a signed sheet stays as it was."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from functools import partial

import pytest

from shopapp.actions import activity
from shopapp.actions.actor import Actor
from shopapp.actions.arrival_facts import ArrivalFactsInput, edit_arrival
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Intake, Person, Stage, WorkOrder
from tests.factories import WorkOrderFactory
from tests.factories.intakes import signed, unsigned
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

# the day of every test is 2 June 2026
MOVED = ArrivalFactsInput(
    promised_date=date(2026, 6, 19),
    fuel="half",
    keys_tag=" 17 ",
    trailer="galvanised, one flat tyre",
    loose_gear="two rods",
    arrival_state="Scratch at the port bow",
)


def written(order: WorkOrder) -> tuple[object, ...]:
    order.refresh_from_db()
    return (
        order.promised_date,
        order.fuel,
        order.keys_tag,
        order.trailer,
        order.loose_gear,
        order.arrival_state,
    )


def test_everything_written_down_can_be_changed(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(promised_date=date(2026, 6, 5), keys_tag="71")

    edit_arrival(order.pk, MOVED, version=1, by=by(ilse))

    assert written(order) == (
        date(2026, 6, 19),
        "half",
        "17",
        "galvanised, one flat tyre",
        "two rods",
        "Scratch at the port bow",
    )
    entry = Activity.objects.get(work_order=order)
    facts = json.loads(entry.payload)
    assert (entry.verb, facts["promised_date"], facts["keys_tag"]) == (
        "edit arrival",
        "2026-06-05 → 2026-06-19",
        "71 → 17",
    )
    assert activity.first_bad_link() is None


def test_same_again_leaves_no_trace(ilse: Person, by: By) -> None:
    order = WorkOrderFactory()
    edit_arrival(order.pk, MOVED, version=1, by=by(ilse))

    edit_arrival(order.pk, MOVED, version=1, by=by(ilse))

    assert (Activity.objects.count(), WorkOrder.objects.get().version) == (1, 2)


@pytest.mark.parametrize("day", [date(2026, 6, 1), date(2028, 6, 2)])
def test_promise_lies_ahead_but_not_years(ilse: Person, by: By, day: date) -> None:
    order = WorkOrderFactory()

    with pytest.raises(BadInput, match="a day from 2026-06-02 to 2028-06-01") as refused:
        edit_arrival(order.pk, replace(MOVED, promised_date=day), version=1, by=by(ilse))

    assert (refused.value.field, WorkOrder.objects.get().promised_date) == ("promised_date", None)


def test_promise_that_has_passed_does_not_stop_other_words(ilse: Person, by: By) -> None:
    passed = date(2026, 5, 20)
    order = WorkOrderFactory(promised_date=passed)

    edit_arrival(order.pk, replace(MOVED, promised_date=passed), version=1, by=by(ilse))

    assert written(order)[:2] == (passed, "half")


def test_odd_fuel_is_refused(ilse: Person, by: By) -> None:
    order = WorkOrderFactory()

    with pytest.raises(BadInput):
        edit_arrival(order.pk, replace(MOVED, fuel="plenty"), version=1, by=by(ilse))


def test_technician_changes_nothing(tobiah: Person, by: By) -> None:
    order = WorkOrderFactory()

    with pytest.raises(NotAllowed):
        edit_arrival(order.pk, MOVED, version=1, by=by(tobiah))


@pytest.mark.parametrize("stage", [Stage.GONE, Stage.CANCELLED])
def test_visit_that_is_over_stays_as_it_is(ilse: Person, by: By, stage: Stage) -> None:
    order = WorkOrderFactory(stage=stage, gone_at=by(ilse).at)

    with pytest.raises(Refused, match="over"):
        edit_arrival(order.pk, MOVED, version=1, by=by(ilse))


def test_signed_sheet_keeps_saying_what_it_said(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(keys_tag="71")
    at = by(ilse).at
    before = signed(unsigned(at=at, work_order=order), ilse, at=at + timedelta(minutes=1)).shown

    edit_arrival(order.pk, MOVED, version=1, by=by(ilse))

    assert ("71" in before, Intake.objects.get().shown) == (True, before)


@pytest.mark.django_db(transaction=True)
def test_of_two_desks_the_second_is_told_t22(ilse: Person, maren: Person, by: By) -> None:
    order = WorkOrderFactory()
    deeds = [
        partial(edit_arrival, order.pk, replace(MOVED, keys_tag=tag), version=1, by=by(person))
        for tag, person in (("1", ilse), ("2", maren))
    ]

    answers = outcomes(deeds)

    order.refresh_from_db()
    saved = [one.keys_tag for one in answers if isinstance(one, WorkOrder)]
    told = [one.record.keys_tag for one in answers if isinstance(one, Stale)]
    assert (saved, told, Activity.objects.count()) == ([order.keys_tag], [order.keys_tag], 1)

"""Custody: what came in, what went out, to whom; and where the boat is now."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import pytest
from django.db import transaction

from shopapp.actions import activity
from shopapp.actions.actor import Actor
from shopapp.actions.custody import CustodyInput, let_go, record_custody
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, CustodyEntry, Person, Stage, WorkOrder
from shopapp.queries.custody import things_here
from tests.factories import WorkOrderFactory
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

HOME = CustodyInput(thing="boat", move="out", who=" Anna Berg ", place="home", note="Until the shaft comes")
BACK = CustodyInput(thing="boat", move="in", who="Anna Berg", place="yard 4")
KEYS = CustodyInput(thing="keys", move="in", who="Anna Berg", place="hook 7")


def told(order: WorkOrder) -> list[str]:
    return list(Activity.objects.filter(work_order=order).order_by("seq").values_list("verb", flat=True))


def test_boat_goes_home_and_comes_back(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(stage=Stage.IN_LINE, place="yard 1")

    out = record_custody(order.pk, HOME, by=by(ilse))
    order.refresh_from_db()
    away = (order.is_boat_here, order.place, things_here(order))
    record_custody(order.pk, BACK, by=by(ilse))
    order.refresh_from_db()

    assert (out.who, out.place, out.note, out.recorded_by) == (
        "Anna Berg",
        "home",
        "Until the shaft comes",
        ilse,
    )
    assert away == (False, "home", frozenset())
    assert (order.is_boat_here, order.place, things_here(order)) == (True, "yard 4", {"boat"})
    assert (told(order), activity.first_bad_link()) == (["let out", "take in"], None)


def test_keys_do_not_move_the_boat(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(place="yard 1")

    record_custody(order.pk, KEYS, by=by(ilse))

    order.refresh_from_db()
    assert (order.is_boat_here, order.place, things_here(order)) == (True, "yard 1", {"boat", "keys"})


def test_boat_is_moved_within_the_yard(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(place="yard 1")

    record_custody(order.pk, CustodyInput(thing="boat", move="moved", place="bay 2"), by=by(ilse))

    order.refresh_from_db()
    assert (order.is_boat_here, order.place) == (True, "bay 2")


@pytest.mark.parametrize(
    ("before", "data", "sentence"),
    [
        ([], BACK, "Boat: it is here already, so it can't come in."),
        ([HOME], HOME, "Boat: it is not here, so it can't go out or be moved."),
        (
            [HOME],
            CustodyInput(thing="boat", move="moved", place="bay 2"),
            "Boat: it is not here, so it can't go out or be moved.",
        ),
        ([], replace(KEYS, move="out"), "Keys: it is not here, so it can't go out or be moved."),
        ([KEYS], KEYS, "Keys: it is here already, so it can't come in."),
    ],
)
def test_impossible_move_is_refused(
    ilse: Person, by: By, before: list[CustodyInput], data: CustodyInput, sentence: str
) -> None:
    order = WorkOrderFactory(stage=Stage.IN_LINE)
    for earlier in before:
        record_custody(order.pk, earlier, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        record_custody(order.pk, data, by=by(ilse))

    assert refusal.value.sentence == sentence
    assert CustodyEntry.objects.count() == Activity.objects.count() == len(before)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"thing": "anchor"}, "thing"),
        ({"move": "sold"}, "move"),
        ({"who": "  "}, "who"),
        ({"move": "moved", "place": " "}, "place"),
    ],
)
def test_odd_entry_is_refused_at_its_field(ilse: Person, by: By, change: dict[str, str], field: str) -> None:
    order = WorkOrderFactory()

    with pytest.raises(BadInput) as refusal:
        record_custody(order.pk, replace(HOME, **change), by=by(ilse))

    assert (refusal.value.field, CustodyEntry.objects.count()) == (field, 0)


def test_ready_boat_does_not_slip_out_beside_the_bill(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(stage=Stage.READY)

    with pytest.raises(Refused, match="Hand the boat back on the work order"):
        record_custody(order.pk, HOME, by=by(ilse))

    order.refresh_from_db()
    assert (order.is_boat_here, CustodyEntry.objects.count()) == (True, 0)


def test_closed_visit_takes_no_boat_in_but_lost_gear(ilse: Person, by: By, now: object) -> None:
    order = WorkOrderFactory(stage=Stage.GONE, gone_at=now, is_boat_here=False)
    record_custody(order.pk, CustodyInput(thing="gear", move="in", note="Left on the bench"), by=by(ilse))

    with pytest.raises(Refused, match="Take the boat in as a new arrival"):
        record_custody(order.pk, BACK, by=by(ilse))

    assert things_here(order) == {"gear"}


def test_technician_moves_nothing(tobiah: Person, by: By) -> None:
    order = WorkOrderFactory()

    with pytest.raises(NotAllowed):
        record_custody(order.pk, HOME, by=by(tobiah))

    assert CustodyEntry.objects.count() == 0


def test_everything_still_here_is_let_go(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(stage=Stage.READY, place="dock")
    record_custody(order.pk, KEYS, by=by(ilse))
    trailer = CustodyInput(thing="trailer", move="in", who="Anna Berg")
    record_custody(order.pk, trailer, by=by(ilse))
    record_custody(order.pk, replace(trailer, move="out"), by=by(ilse))

    with transaction.atomic():
        locked = lock_work_order(order.pk)
        entries = let_go(locked, who="Anna Berg", by=by(ilse))
        again = let_go(locked, who="Anna Berg", by=by(ilse))

    order.refresh_from_db()
    assert [(entry.verb, entry.facts["thing"], entry.facts["who"]) for entry in entries] == [
        ("let out", "boat", "Anna Berg"),
        ("let out", "keys", "Anna Berg"),
    ]
    assert (again, order.is_boat_here, order.place, things_here(order)) == ([], False, "", frozenset())


@pytest.mark.django_db(transaction=True)
def test_two_desks_let_the_boat_out_once(ilse: Person, by: By) -> None:
    order = WorkOrderFactory(stage=Stage.IN_LINE)

    answers = outcomes([partial(record_custody, order.pk, HOME, by=by(ilse))] * 4)

    assert sorted(type(one).__name__ for one in answers) == ["CustodyEntry", *["Refused"] * 3]
    assert CustodyEntry.objects.count() == 1

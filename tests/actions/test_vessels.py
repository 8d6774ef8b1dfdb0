"""Boats are edited at the desk and change owners."""

import json
from collections.abc import Callable
from datetime import date

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Stale
from shopapp.actions.vessels import VesselInput, add_vessel, edit_vessel, hand_to
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, Vessel, VesselOwnership
from shopapp.queries.find import matching_ids
from tests.factories import CustomerFactory, VesselFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

DAY = date(2026, 6, 2)
KITTIWAKE = VesselInput(kept_on="berth 12", name="Kittiwake", hull_number="not a number")


def test_add_vessel_gives_it_an_owner() -> None:
    owner = CustomerFactory()

    row, entry = add_vessel(KITTIWAKE, owner=owner, day=DAY)

    ownership = VesselOwnership.objects.get()
    assert (ownership.vessel, ownership.customer, ownership.from_date, ownership.until_date) == (
        row,
        owner,
        DAY,
        None,
    )
    assert entry.facts == {"name": "Kittiwake", "owner": owner.pk}


def test_vessel_on_nothing_is_refused(ilse: Person, by: By) -> None:
    row = VesselFactory(kept_on="trailer")

    with pytest.raises(BadInput) as adding:
        add_vessel(VesselInput(kept_on=" "), owner=CustomerFactory(), day=DAY)
    with pytest.raises(BadInput) as editing:
        edit_vessel(row.pk, VesselInput(kept_on=""), version=1, by=by(ilse))

    assert (adding.value.field, editing.value.field) == ("kept_on", "kept_on")
    assert list(Vessel.objects.values_list("kept_on", flat=True)) == ["trailer"]


def test_hand_to_closes_one_ownership_and_opens_another() -> None:
    vessel, buyer = VesselFactory(), CustomerFactory()
    seller = vessel.ownerships.get().customer

    entries = hand_to(vessel, owner=buyer, day=DAY)

    spans = list(vessel.ownerships.order_by("pk").values_list("customer", "from_date", "until_date"))
    assert spans == [(seller.pk, date(2026, 1, 1), DAY), (buyer.pk, DAY, None)]
    assert [entry.facts for entry in entries] == [{"from": seller.pk, "to": buyer.pk}]


def test_hand_to_the_owner_changes_nothing() -> None:
    vessel = VesselFactory()

    entries = hand_to(vessel, owner=vessel.ownerships.get().customer, day=DAY)

    assert (entries, vessel.ownerships.count()) == ([], 1)


def test_hand_to_takes_a_boat_without_owner() -> None:
    vessel, buyer = VesselFactory(), CustomerFactory()
    vessel.ownerships.update(until_date=date(2026, 3, 1))

    entries = hand_to(vessel, owner=buyer, day=DAY)

    assert [entry.facts for entry in entries] == [{"from": None, "to": buyer.pk}]
    assert vessel.ownerships.get(until_date=None).customer == buyer


def test_edit_vessel_keeps_an_odd_hull_number(ilse: Person, by: By) -> None:
    row = VesselFactory(name="Kittiwake")

    saved = edit_vessel(row.pk, KITTIWAKE, version=1, by=by(ilse))

    assert (saved.hull_number, saved.kept_on, saved.version) == ("not a number", "berth 12", 2)
    assert json.loads(Activity.objects.get().payload) == {
        "kept_on": "trailer → berth 12",
        "hull_number": "– → not a number",
    }
    assert matching_ids("not a number", kinds=["vessel"]) == [("vessel", row.pk)]


def test_second_edit_of_vessel_is_stale_t22(ilse: Person, by: By) -> None:
    row = VesselFactory(name="Kittiwake")
    edit_vessel(row.pk, KITTIWAKE, version=1, by=by(ilse))

    with pytest.raises(Stale):
        edit_vessel(row.pk, VesselInput(kept_on="cradle", name="Kittiwake"), version=1, by=by(ilse))

    assert Vessel.objects.get().kept_on == "berth 12"


def test_technician_may_not_edit_vessel(tobiah: Person, by: By) -> None:
    row = VesselFactory()

    with pytest.raises(NotAllowed):
        edit_vessel(row.pk, KITTIWAKE, version=1, by=by(tobiah))

    assert Vessel.objects.get().kept_on == "trailer"

"""A boat that went home during a back-order comes back on the same work order (journey g)."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.custody import CustodyInput, record_custody
from shopapp.models import Person, Stage, WorkOrder
from tests.factories import VesselFactory

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
HOME = CustodyInput(thing="boat", move="out", who="Anna Berg")


def test_boat_at_home_comes_back_on_its_order(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key, by: Callable[[Person], Actor]
) -> None:
    WorkOrder.objects.update(stage=Stage.IN_LINE)
    record_custody(visit.pk, HOME, by=by(ilse))
    client = signed_in(ilse)

    page = client.get("/arrivals/new/", {"vessel": visit.vessel_id}).content.decode()
    response = client.post(f"/arrivals/{visit.pk}/take-back/", key())

    visit.refresh_from_db()
    assert "Kittiwake is on W-00012 and went home on 2 Jun 2026, 10:30." in page
    assert ("Take it back in on W-00012" in page, "Not here lately." in page) == (True, True)
    assert response["Location"] == f"/arrivals/{visit.pk}/custody/"
    assert (visit.is_boat_here, WorkOrder.objects.count()) == (True, 1)


def test_boat_that_is_here_does_not_come_back(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    client = signed_in(ilse)

    page = client.get("/arrivals/new/", {"vessel": visit.vessel_id}).content.decode()
    response = client.post(f"/arrivals/{visit.pk}/take-back/", key())

    assert ("This boat is here already:" in page, "Take it back in" in page) == (True, False)
    assert response.status_code == 409


def test_other_boat_is_not_offered(ilse: Person, signed_in: SignedIn, visit: WorkOrder) -> None:
    page = signed_in(ilse).get("/arrivals/new/", {"vessel": VesselFactory().pk}).content.decode()

    assert "W-00012" not in page

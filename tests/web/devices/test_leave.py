"""Somebody else's turn: the stay and the session end, the picker comes."""

import uuid
from collections.abc import Callable

from django.test import Client

from shopapp.models import BrowserSession, Device, Person
from tests.factories import JobFactory

SignedIn = Callable[[Person], Client]


def test_who_leaves_is_out_and_leaves_no_session(by_pin: SignedIn, tobiah: Person) -> None:
    tablet = by_pin(tobiah)

    answer = tablet.post("/devices/leave/")

    assert answer["Location"] == "/devices/who/"
    assert (Device.objects.get().person, BrowserSession.objects.count()) == (None, 0)
    assert tablet.get("/work-orders/")["Location"] == "/devices/who/?next=/work-orders/"


def test_leaving_twice_does_no_harm(tablet: Client) -> None:
    assert [tablet.post("/devices/leave/")["Location"] for _ in range(2)] == ["/devices/who/"] * 2


def test_next_person_reads_no_message_of_the_one_before(by_pin: SignedIn, tobiah: Person) -> None:
    tablet = by_pin(tobiah)
    job = JobFactory.create(technician=tobiah, work_order__stage="diagnosis")
    sent = {"description": "Shaft seal", "quantity": "2", "unit": "each", "once_key": str(uuid.uuid4())}
    assert tablet.post(f"/work-orders/job/{job.pk}/use-part/", sent).status_code == 302

    page = tablet.post("/devices/leave/", follow=True)

    assert "Shaft seal" not in page.content.decode()

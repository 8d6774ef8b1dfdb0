"""Somebody else's turn: the stay and the session end, the picker comes."""

import uuid
from collections.abc import Callable

from django.test import Client
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.sessions import end_sessions
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


def test_owner_who_ends_all_sign_ins_ends_the_stay_too(
    by_pin: SignedIn, tobiah: Person, maren: Person
) -> None:
    tablet = by_pin(tobiah)

    end_sessions(tobiah.pk, by=Actor(scope=Scope.DESK, person=maren, at=timezone.now()))

    assert tablet.get("/work-orders/")["Location"] == "/devices/who/?next=/work-orders/"


def test_desk_signs_out_of_a_tablet_to_its_picker(tablet: Client, maren: Person) -> None:
    tablet.force_login(maren)

    assert tablet.post("/people/sign-out/")["Location"] == "/devices/who/"

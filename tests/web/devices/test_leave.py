"""Somebody else's turn: the stay and the session end, the picker comes."""

from collections.abc import Callable

from django.contrib.sessions.models import Session
from django.test import Client

from shopapp.models import Device, Person

SignedIn = Callable[[Person], Client]


def test_who_leaves_is_out_and_leaves_no_session(by_pin: SignedIn, tobiah: Person) -> None:
    tablet = by_pin(tobiah)

    answer = tablet.post("/devices/leave/")

    assert answer["Location"] == "/devices/who/"
    assert (Device.objects.get().person, Session.objects.count()) == (None, 0)
    assert tablet.get("/work-orders/")["Location"] == "/devices/who/?next=/work-orders/"


def test_leaving_twice_does_no_harm(tablet: Client) -> None:
    assert [tablet.post("/devices/leave/")["Location"] for _ in range(2)] == ["/devices/who/"] * 2

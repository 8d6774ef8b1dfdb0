"""Locking at once, by the person or by the page that saw no touch."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Device, Person

SignedIn = Callable[[Person], Client]


def test_locked_tablet_opens_nothing_until_the_pin(by_pin: SignedIn, tobiah: Person) -> None:
    tablet = by_pin(tobiah)

    answer = tablet.post("/devices/lock/")

    assert answer["Location"] == "/devices/unlock/"
    assert tablet.get("/work-orders/")["Location"] == "/devices/unlock/?next=/work-orders/"
    assert Device.objects.get().person == tobiah


def test_nobody_locks_nothing(tablet: Client) -> None:
    assert tablet.post("/devices/lock/")["Location"] == "/devices/who/"

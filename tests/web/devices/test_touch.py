"""A touch keeps the tablet open while somebody types; it opens no lock."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person

SignedIn = Callable[[Person], Client]


def test_touch_tells_whether_the_tablet_is_open(
    by_pin: SignedIn, tobiah: Person, idle: Callable[[], None]
) -> None:
    tablet = by_pin(tobiah)

    before = tablet.post("/devices/touch/").json()
    idle()
    after = tablet.post("/devices/touch/").json()

    assert (before, after) == ({"is_open": True}, {"is_open": False})


def test_touch_of_nobody_is_no_open_tablet(tablet: Client) -> None:
    assert tablet.post("/devices/touch/").json() == {"is_open": False}

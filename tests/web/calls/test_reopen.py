"""Ticked off too early: the slip comes back."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import CallSlip, Person
from tests.conftest import NOW

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
Slips = Callable[..., CallSlip]


def test_reopen_brings_the_slip_back(ilse: Person, signed_in: SignedIn, slip: Slips, key: Key) -> None:
    one = slip(done_at=NOW, done_by=ilse, answer="Comes at four")

    response = signed_in(ilse).post(f"/calls/{one.pk}/reopen/", key())

    one.refresh_from_db()
    assert (response.headers["Location"], one.done_at, one.answer) == ("/calls/", None, "Comes at four")


def test_reopen_of_a_missing_slip_is_not_found(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(ilse).post("/calls/999999/reopen/", key()).status_code == 404

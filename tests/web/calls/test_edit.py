"""A call slip is put right."""

from collections.abc import Callable
from datetime import UTC, datetime

from django.test import Client

from shopapp.models import CallSlip, Person
from tests.conftest import NOW

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
Slips = Callable[..., CallSlip]
TYPED = {"version": "1", "name": "Aud Nilsen", "phone": "", "about": "Wants the quote by post"}


def test_edit_page_holds_what_is_saved_on_the_shops_clock(
    ilse: Person, signed_in: SignedIn, slip: Slips
) -> None:
    one = slip(call_by_at=NOW, phone="604 555 0190")

    content = signed_in(ilse).get(f"/calls/{one.pk}/edit/").content.decode()

    assert content.count('value="2026-06-02T10:30"') == 1
    assert (content.count('value="604 555 0190"'), content.count('name="version" value="1"')) == (1, 1)


def test_edit_saves_and_returns_to_the_list(ilse: Person, signed_in: SignedIn, slip: Slips, key: Key) -> None:
    one = slip(call_by_at=NOW)

    response = signed_in(ilse).post(f"/calls/{one.pk}/edit/", TYPED | key())

    one.refresh_from_db()
    assert (response.status_code, response.headers["Location"]) == (302, "/calls/")
    assert (one.about, one.call_by_at, one.version) == ("Wants the quote by post", None, 2)


def test_second_of_two_editors_sees_both(
    ilse: Person, maren: Person, signed_in: SignedIn, slip: Slips, key: Key
) -> None:
    one = slip(call_by_at=datetime(2026, 6, 2, 16, 0, tzinfo=UTC))
    typed = TYPED | {"call_by_at": "2026-06-02T11:00"}
    signed_in(maren).post(f"/calls/{one.pk}/edit/", typed | {"about": "Wants it by mail"} | key())

    response = signed_in(ilse).post(
        f"/calls/{one.pk}/edit/", typed | {"call_by_at": "2026-06-02T15:45"} | key()
    )

    content = response.content.decode()
    assert response.status_code == 409
    for piece in ("Maren Falk,", "Wants it by mail", "2026-06-02 11:00", "2026-06-02 15:45"):
        assert content.count(piece) == 1, piece
    assert content.count('name="version" value="2"') == 1


def test_done_slip_is_not_edited(ilse: Person, signed_in: SignedIn, slip: Slips, key: Key) -> None:
    one = slip(done_at=NOW, done_by=ilse)

    response = signed_in(ilse).post(f"/calls/{one.pk}/edit/", TYPED | key())

    assert (response.status_code, "Bring the slip back first." in response.content.decode()) == (409, True)

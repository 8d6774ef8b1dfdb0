"""The call was made."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, CallSlip, Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
Slips = Callable[..., CallSlip]


def test_close_ticks_the_slip_off_once(ilse: Person, signed_in: SignedIn, slip: Slips, key: Key) -> None:
    one, sent = slip(), {"answer": "Comes  at four"} | key()
    client = signed_in(ilse)

    answers = [client.post(f"/calls/{one.pk}/close/", sent) for _ in range(2)]

    one.refresh_from_db()
    assert [answer.headers["Location"] for answer in answers] == ["/calls/", "/calls/"]
    assert (one.answer, one.done_by, Activity.objects.count()) == ("Comes at four", ilse, 1)


def test_answer_that_is_too_long_is_told(ilse: Person, signed_in: SignedIn, slip: Slips, key: Key) -> None:
    one = slip()

    response = signed_in(ilse).post(f"/calls/{one.pk}/close/", {"answer": "x" * 301} | key())

    one.refresh_from_db()
    assert (response.status_code, one.done_at) == (422, None)
    assert "at most 300 characters (it has 301)" in response.content.decode()


def test_technician_ticks_nothing_off(tobiah: Person, signed_in: SignedIn, slip: Slips, key: Key) -> None:
    one = slip()

    response = signed_in(tobiah).post(f"/calls/{one.pk}/close/", key())

    one.refresh_from_db()
    assert (response.status_code, one.done_at) == (403, None)

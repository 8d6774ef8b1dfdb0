"""One's own sign-ins: seen, and over by themselves after an idle hour or a long day."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from shopapp.models import BrowserSession, Person
from shopapp.web.shared.session_store import SessionStore, code_of
from tests.factories import PASSWORD
from tests.web.people.conftest import SIGN_IN

ADDRESS = "/people/sessions/"
SignedIn = Callable[[Person], Client]
FIREFOX = "Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:140.0) Gecko/20100101 Firefox/140.0"


def signed_in_for_real(browser: str = FIREFOX, place: str = "192.168.1.20") -> Client:
    client = Client(REMOTE_ADDR=place, headers={"user-agent": browser})
    client.post(SIGN_IN, {"username": "ilse", "password": PASSWORD})
    return client


def row_of(client: Client) -> BrowserSession:
    return BrowserSession.objects.get(session_key=client.cookies[settings.SESSION_COOKIE_NAME].value)


def test_own_sign_ins_are_seen_with_browser_and_place(
    ilse: Person, maren: Person, signed_in: SignedIn
) -> None:
    signed_in(maren)
    signed_in_for_real(place="192.168.1.31", browser="Mozilla/5.0 (iPad) Version/18 Safari/605")
    client = signed_in_for_real()

    text = client.get(ADDRESS).content.decode()

    assert text.count('<li class="stack-tight">') == 2
    assert [
        word in text for word in ("Firefox on Windows", "192.168.1.20", "Safari on iPad", "192.168.1.31")
    ] == [True] * 4
    assert text.count("· this one") == 1


@pytest.mark.parametrize("count", [1, 30])
def test_sign_ins_take_the_same_queries(
    ilse: Person, signed_in: SignedIn, count: int, django_assert_num_queries: Callable
) -> None:
    client = [signed_in(ilse) for _ in range(count)][-1]

    with django_assert_num_queries(4):
        assert client.get(ADDRESS).status_code == 200


def test_key_of_a_session_is_by_lot_and_shown_nowhere(ilse: Person) -> None:
    client = signed_in_for_real()
    row = row_of(client)

    text = client.get(ADDRESS).content.decode()

    assert (len(row.session_key), len(set(row.session_key)) > 10) == (32, True)
    assert row.code == code_of(row.session_key)
    assert row.session_key not in text


def test_sign_in_gets_a_new_key_and_ends_the_old_one(ilse: Person) -> None:
    client = signed_in_for_real()
    before = client.cookies[settings.SESSION_COOKIE_NAME].value

    client.post(SIGN_IN, {"username": "ilse", "password": PASSWORD})

    assert client.cookies[settings.SESSION_COOKIE_NAME].value != before
    assert BrowserSession.objects.filter(session_key=before).count() == 0


def test_key_from_elsewhere_is_never_taken_on(ilse: Person) -> None:
    client = Client()
    client.cookies[settings.SESSION_COOKIE_NAME] = "a" * 32

    client.post(SIGN_IN, {"username": "ilse", "password": PASSWORD})

    assert client.cookies[settings.SESSION_COOKIE_NAME].value != "a" * 32


def test_looking_at_a_page_makes_no_session(ilse: Person) -> None:
    for path in ("/", SIGN_IN, "/health/", "/people/prove/"):
        Client().get(path)

    assert BrowserSession.objects.count() == 0


def test_idle_hour_ends_a_sign_in(ilse: Person) -> None:
    client = signed_in_for_real()
    row = row_of(client)
    idle = (row.expire_date - row.seen_at).total_seconds()
    BrowserSession.objects.update(expire_date=timezone.now() - timedelta(seconds=1))

    response = client.get("/customers/")

    assert (idle, settings.SESSION_IDLE_SECONDS) == (3600, 3600)
    assert (response.status_code, response.headers["Location"]) == (302, f"{SIGN_IN}?next=/customers/")


def test_each_use_begins_the_idle_hour_anew(ilse: Person) -> None:
    client = signed_in_for_real()
    a_while_ago = timezone.now() - timedelta(minutes=50)
    BrowserSession.objects.update(seen_at=a_while_ago, expire_date=a_while_ago + timedelta(minutes=60))

    client.get("/customers/")

    row = row_of(client)
    assert timezone.now() - row.seen_at < timedelta(minutes=1)
    assert row.expire_date - row.seen_at == timedelta(minutes=60)


def test_use_within_a_minute_writes_nothing(ilse: Person, django_assert_num_queries: Callable) -> None:
    client = signed_in_for_real()
    before = row_of(client).seen_at

    client.get(ADDRESS)

    assert row_of(client).seen_at == before


def test_long_day_ends_a_sign_in_however_busy(ilse: Person) -> None:
    client = signed_in_for_real()
    session = client.session
    started_at = timezone.now() - timedelta(hours=13, minutes=50)
    session["signed_in"] |= {"at": started_at.isoformat()}
    session.save()
    BrowserSession.objects.update(seen_at=timezone.now() - timedelta(minutes=5))

    client.get("/customers/")

    row = row_of(client)
    assert settings.SESSION_COOKIE_AGE == 14 * 3600
    assert row.expire_date == started_at + timedelta(hours=14)


def test_ended_sessions_are_swept_with_the_next_sign_in(ilse: Person, signed_in: SignedIn) -> None:
    signed_in(ilse)
    BrowserSession.objects.update(expire_date=timezone.now() - timedelta(days=1))

    signed_in_for_real()

    assert BrowserSession.objects.count() == 1


def test_session_that_ended_is_not_loaded(ilse: Person) -> None:
    client = signed_in_for_real()
    key = client.cookies[settings.SESSION_COOKIE_NAME].value
    BrowserSession.objects.all().delete()

    store = SessionStore(key)

    assert (store.load(), store.session_key) == ({}, None)

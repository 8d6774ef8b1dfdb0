"""Changing one's password: the present one is asked, the new one is long and not guessable, others end."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Activity, Person
from tests.factories import PASSWORD
from tests.web.shared.bad_values import tried_values

ADDRESS = "/people/password/"
NEW = "the tide turns at noon"
SignedIn = Callable[[Person], Client]


def body(new: str = NEW, *, old: str = PASSWORD, again: str | None = None) -> dict[str, str]:
    return {"password": old, "new_password": new, "again": new if again is None else again}


def test_password_is_changed_by_who_knows_it(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    response = client.post(ADDRESS, body())

    ilse.refresh_from_db()
    assert (response.status_code, response.headers["Location"]) == (302, "/people/sessions/")
    assert (ilse.check_password(NEW), ilse.check_password(PASSWORD)) == (True, False)
    assert client.get("/customers/").status_code == 200
    assert Activity.objects.get(verb="set password").payload == '{"ended": 0, "was_first": false}'


def test_change_needs_the_present_password(ilse: Person, signed_in: SignedIn) -> None:
    response = signed_in(ilse).post(ADDRESS, body(old="wrong-and-kelp-7"))

    ilse.refresh_from_db()
    assert response.status_code == 422
    assert "This is not your password." in response.content.decode()
    assert ilse.check_password(PASSWORD)


def test_guessing_the_present_password_is_limited(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    statuses = [client.post(ADDRESS, body(old="wrong-and-kelp-7")).status_code for _ in range(11)]

    assert statuses == [422] * 10 + [429]


def test_other_sign_ins_end_with_the_change(ilse: Person, signed_in: SignedIn) -> None:
    here, elsewhere = signed_in(ilse), signed_in(ilse)

    here.post(ADDRESS, body())

    assert here.get("/people/sessions/").status_code == 200
    assert elsewhere.get("/people/sessions/").status_code == 302
    assert ilse.browser_sessions.count() == 1


@pytest.mark.parametrize(
    ("new", "says"),
    [
        ("elevenchars", "This is too short. Give at least 12 characters"),
        ("x" * 201, "at most 200 characters"),
        ("1234567890123456", "among the passwords that are tried first"),
        ("poiuytrewqmnbvcxz", "among the passwords that are tried first"),
        ("Sunshine2026!!", "among the passwords that are tried first"),
        ("abababababab", "among the passwords that are tried first"),
        ("herons like the mud", "Leave out “heron”"),
        ("my name is Brandt ok", "Leave out “brandt”"),
        ("a shopapp of my own", "Leave out “shopapp”"),
        (PASSWORD, "This is the password you have."),
    ],
)
def test_weak_password_is_refused_in_words(ilse: Person, signed_in: SignedIn, new: str, says: str) -> None:
    response = signed_in(ilse).post(ADDRESS, body(new))

    ilse.refresh_from_db()
    text = response.content.decode()
    assert (response.status_code, says in text, new in text) == (422, True, False)
    assert ilse.check_password(PASSWORD)


@pytest.mark.parametrize(
    "new",
    [
        "seagullmudflat",
        "  a gap on both ends  ",
        "длинный пароль",
        "tiller " * 20 + "end",
        "q" * 8 + "wert" * 16,
    ],
)
def test_password_counts_as_it_was_typed(ilse: Person, signed_in: SignedIn, new: str) -> None:
    """No rules on kinds of signs, gaps and letters of any script, and nothing is cut off."""
    response = signed_in(ilse).post(ADDRESS, body(new))

    ilse.refresh_from_db()
    assert response.status_code == 302
    assert (
        ilse.check_password(new),
        ilse.check_password(new[:-1]),
        ilse.check_password(new.strip() + "."),
    ) == (
        True,
        False,
        False,
    )


def test_two_different_new_passwords_are_refused(ilse: Person, signed_in: SignedIn) -> None:
    response = signed_in(ilse).post(ADDRESS, body(again="the tide turns at ten"))

    assert response.status_code == 422
    assert "Type the new password twice." in response.content.decode()


def test_fields_let_password_managers_help(ilse: Person, signed_in: SignedIn) -> None:
    text = signed_in(ilse).get(ADDRESS).content.decode()

    assert text.count('type="password"') == 3
    assert (text.count('autocomplete="current-password"'), text.count('autocomplete="new-password"')) == (
        1,
        2,
    )
    assert ("onpaste" in text, 'autocomplete="off" type="password"' in text) == (False, False)
    assert "At least 12 characters, better 15 or more" in text


def test_password_page_answers_every_bad_value(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    for value in tried_values():
        statuses = {client.post(ADDRESS, body(value, again="other")).status_code}
        assert statuses <= {422}, value[:40]

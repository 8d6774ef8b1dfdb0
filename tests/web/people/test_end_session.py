"""Ending one sign-in: one's own, or for the owner anybody's; it is over with its next request."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(person: Person) -> str:
    return f"/people/sessions/{person.browser_sessions.earliest('seen_at').code}/end-session/"


def test_own_sign_in_elsewhere_is_ended(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    elsewhere, here = signed_in(ilse), signed_in(ilse)

    response = here.post(address(ilse), key())

    assert response.headers["Location"] == "/people/sessions/"
    assert (elsewhere.get("/customers/").status_code, here.get("/customers/").status_code) == (302, 200)
    assert Activity.objects.get(verb="end session").record == f"person:{ilse.pk}"


def test_sign_in_of_somebody_else_is_not_there(
    ilse: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    theirs = signed_in(ilse)

    response = signed_in(wen).post(address(ilse), key())

    assert (response.status_code, theirs.get("/customers/").status_code) == (404, 200)


def test_owner_ends_anybodys(ilse: Person, maren: Person, signed_in: SignedIn, key: Key) -> None:
    theirs = signed_in(ilse)

    response = signed_in(maren).post(address(ilse), key())

    assert response.headers["Location"] == f"/people/{ilse.pk}/"
    assert theirs.get("/customers/").status_code == 302


def test_same_form_twice_ends_it_once(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    signed_in(ilse)
    here, form, where = signed_in(ilse), key(), address(ilse)

    statuses = [here.post(where, form).status_code for _ in range(2)]

    # the second time there is no such sign-in
    assert statuses == [302, 404]
    assert Activity.objects.filter(verb="end session").count() == 1

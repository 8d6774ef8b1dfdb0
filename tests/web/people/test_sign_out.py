"""Signing out ends the session."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import BrowserSession, Person

ADDRESS = "/people/sign-out/"


def test_sign_out_ends_the_session(ilse: Person, signed_in: Callable[[Person], Client]) -> None:
    client = signed_in(ilse)

    response = client.post(ADDRESS)

    assert (response.status_code, response.headers["Location"]) == (302, "/people/sign-in/")
    assert BrowserSession.objects.count() == 0
    assert client.get("/customers/").headers["Location"] == "/people/sign-in/?next=/customers/"


def test_sign_out_by_a_link_does_nothing(ilse: Person, signed_in: Callable[[Person], Client]) -> None:
    client = signed_in(ilse)

    response = client.get(ADDRESS)

    assert (response.status_code, client.session["_auth_user_id"]) == (405, str(ilse.pk))


def test_sign_out_from_another_origin_is_refused_t14(ilse: Person) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(ilse)

    response = client.post(ADDRESS, headers={"origin": "https://evil.example"})

    assert (response.status_code, client.session["_auth_user_id"]) == (403, str(ilse.pk))

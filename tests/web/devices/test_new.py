"""Enrolling: on the tablet itself, the password once more; the owner's sign-in ends there."""

from collections.abc import Callable

import pytest
from django.test import Client, override_settings

from shopapp.models import BrowserSession, Device, Person
from tests.factories import PASSWORD

SignedIn = Callable[[Person], Client]

NEW = {"name": "Bench tablet 1", "lock_minutes": "15", "password": PASSWORD}


def test_enrolled_tablet_keeps_a_cookie_and_no_session(maren: Person, signed_in: SignedIn) -> None:
    client = signed_in(maren)

    response = client.post("/devices/new/", NEW)

    cookie = response.cookies["tablet"]
    assert (response.status_code, response["Location"]) == (302, "/devices/who/")
    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Strict", "/")
    assert len(cookie.value) >= 43
    assert BrowserSession.objects.count() == 0
    device = Device.objects.get()
    assert (device.name, device.lock_minutes, device.enrolled_by) == ("Bench tablet 1", 15, maren)
    assert client.get("/shop/terms/").status_code == 302


@override_settings(HTTPS=True)
def test_cookie_is_bound_to_the_host_where_there_is_https(maren: Person, signed_in: SignedIn) -> None:
    cookie = signed_in(maren).post("/devices/new/", NEW).cookies["__Host-tablet"]

    assert (cookie["secure"], cookie["path"], cookie["domain"]) == (True, "/", "")


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"password": "sea-salt"}, "This is not your password. Try again."),
        ({"name": ""}, "Name of this tablet is missing. Please fill it in."),
        ({"lock_minutes": "60"}, "Select a valid choice."),
    ],
)
def test_refused_enrolment_changes_nothing(
    maren: Person, signed_in: SignedIn, wrong: dict[str, str], sentence: str
) -> None:
    client = signed_in(maren)

    response = client.post("/devices/new/", NEW | wrong)

    content = response.content.decode()
    assert (response.status_code, sentence in content, PASSWORD in content) == (422, True, False)
    assert (Device.objects.count(), client.get("/devices/").status_code) == (0, 200)


def test_browser_that_is_enrolled_gets_a_new_name(maren: Person, signed_in: SignedIn) -> None:
    client = signed_in(maren)
    client.post("/devices/new/", NEW)
    client.force_login(maren)

    assert "enrolled as Bench tablet 1 already" in client.get("/devices/new/").content.decode()
    client.post("/devices/new/", NEW | {"name": "Counter tablet"})

    assert [device.name for device in Device.objects.filter(ended_at=None)] == ["Counter tablet"]

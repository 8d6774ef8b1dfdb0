"""Who is switched off is out with the next request and stays out."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, BrowserSession, Person
from tests.factories import PASSWORD

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_switched_off_person_is_out_at_once_t15(
    maren: Person, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    theirs = [signed_in(ilse) for _ in range(2)]

    response = signed_in(maren).post(f"/people/{ilse.pk}/switch-off/", key())

    assert response.headers["Location"] == f"/people/{ilse.pk}/"
    assert [client.get("/customers/").headers["Location"] for client in theirs] == [
        "/people/sign-in/?next=/customers/"
    ] * 2
    assert BrowserSession.objects.filter(person=ilse).count() == 0
    again = Client().post("/people/sign-in/", {"username": "ilse", "password": PASSWORD})
    assert again.status_code == 422
    assert Activity.objects.get(verb="switch person off").payload == '{"ended": 2}'


def test_owner_does_not_switch_herself_off(maren: Person, signed_in: SignedIn, key: Key) -> None:
    response = signed_in(maren).post(f"/people/{maren.pk}/switch-off/", key())

    maren.refresh_from_db()
    assert (response.status_code, maren.is_active) == (409, True)
    assert "You cannot switch yourself off. Another owner can." in response.content.decode()


def test_same_form_twice_switches_off_once(
    maren: Person, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client, form = signed_in(maren), key()

    statuses = [client.post(f"/people/{ilse.pk}/switch-off/", form).status_code for _ in range(2)]

    assert (statuses, Activity.objects.filter(verb="switch person off").count()) == ([302, 302], 1)

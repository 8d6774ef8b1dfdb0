"""The owner says what people work as; an owner always stays."""

import json
from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Activity, BrowserSession, Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_other_roles_count_from_the_next_sign_in(
    maren: Person, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    signed_in(tobiah)

    client, body = signed_in(maren), {"roles": ["front_desk", "technician"]} | key()
    statuses = [client.post(f"/people/{tobiah.pk}/change-roles/", body).status_code for _ in range(2)]

    tobiah.refresh_from_db()
    assert statuses == [302, 302]
    assert (tobiah.is_front_desk, tobiah.is_technician, tobiah.is_owner) == (True, True, False)
    assert BrowserSession.objects.filter(person=tobiah).count() == 0
    told = Activity.objects.filter(verb="change roles").values_list("payload", flat=True)
    assert [json.loads(one)["after"] for one in told] == ["front_desk technician"]


def test_owner_stays_owner(maren: Person, signed_in: SignedIn, key: Key) -> None:
    body = {"roles": ["front_desk"]} | key()

    response = signed_in(maren).post(f"/people/{maren.pk}/change-roles/", body)

    maren.refresh_from_db()
    assert (response.status_code, maren.is_owner) == (409, True)


@pytest.mark.parametrize(("roles", "says"), [([], "Works as is missing."), (["captain"], "Choose from")])
def test_roles_are_chosen_from_the_list(
    maren: Person, ilse: Person, signed_in: SignedIn, roles: list[str], says: str
) -> None:
    response = signed_in(maren).post(f"/people/{ilse.pk}/change-roles/", {"roles": roles})

    assert (response.status_code, says in response.content.decode()) == (422, True)


def test_only_the_owner_changes_roles(ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    body = {"roles": ["owner"]} | key()

    response = signed_in(ilse).post(f"/people/{tobiah.pk}/change-roles/", body)

    assert (response.status_code, Person.objects.filter(is_owner=True).count()) == (403, 0)

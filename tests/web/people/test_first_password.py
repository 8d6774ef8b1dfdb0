"""The first password, given by the owner: by lot, once, not for long, and only to choose one's own."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.passwords import give_first_password
from shopapp.models import Person, SecondStep
from tests.web.people.conftest import PROVE, SIGN_IN, digits

ADDRESS = "/people/first-password/"
OWN = "the tide turns at noon"


@pytest.fixture
def given(maren: Person, wen: Person) -> str:
    """The first password that Maren gave Wen."""
    return give_first_password(wen.pk, by=Actor(scope=Scope.DESK, person=maren, at=timezone.now()))


def entered(password: str) -> Client:
    client = Client()
    client.post(SIGN_IN, {"username": "wen", "password": password})
    return client


def test_first_password_opens_one_page_only(given: str) -> None:
    client = entered(given)

    places = {path: client.get(path) for path in ("/", "/work-orders/", "/people/second-step/")}
    part = client.get("/find/", headers={"hx-request": "true"})

    assert {answer.headers["Location"] for answer in places.values()} == {ADDRESS}
    assert (part.status_code, part.headers["HX-Redirect"]) == (204, ADDRESS)
    assert client.get(ADDRESS).status_code == 200


def test_own_password_opens_the_rest(given: str, wen: Person) -> None:
    client = entered(given)

    response = client.post(ADDRESS, {"new_password": OWN, "again": OWN})

    wen.refresh_from_db()
    assert (response.status_code, response.headers["Location"]) == (302, "/")
    assert (wen.first_until, wen.check_password(OWN)) == (None, True)
    assert client.get("/work-orders/").status_code == 200


def test_first_password_works_no_more_once_an_own_one_is_chosen(given: str) -> None:
    late = entered(given)
    entered(given).post(ADDRESS, {"new_password": OWN, "again": OWN})

    assert late.get(ADDRESS).headers["Location"] == f"{SIGN_IN}?next={ADDRESS}"
    assert Client().post(SIGN_IN, {"username": "wen", "password": given}).status_code == 422


def test_first_password_is_never_the_lasting_one(given: str, wen: Person) -> None:
    response = entered(given).post(ADDRESS, {"new_password": given, "again": given})

    wen.refresh_from_db()
    assert response.status_code == 422
    assert wen.first_until is not None


def test_first_password_runs_out(given: str, wen: Person) -> None:
    Person.objects.filter(pk=wen.pk).update(first_until=timezone.now() - timedelta(seconds=1))

    response = Client().post(SIGN_IN, {"username": "wen", "password": given})

    assert response.status_code == 422
    assert "This first password has run out. Ask the owner for a new one." in response.content.decode()


def test_first_password_does_not_pass_the_second_step(
    given: str, wen: Person, stepped: Callable[[Person], SecondStep]
) -> None:
    row = stepped(wen)
    client = entered(given)

    before = client.get(ADDRESS)
    client.post(PROVE, {"code": digits(row.salt)})

    assert before.headers["Location"] == f"{SIGN_IN}?next={ADDRESS}"
    assert client.get(ADDRESS).status_code == 200


def test_page_is_for_who_owes_it(ilse: Person, signed_in: Callable[[Person], Client]) -> None:
    assert signed_in(ilse).get(ADDRESS).headers["Location"] == "/people/password/"

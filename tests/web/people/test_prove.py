"""The second step at the door: nothing is open before it, each code works once, and guessing is limited."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.second_steps import renew_codes
from shopapp.models import Activity, Person, SecondStep
from tests.factories import PASSWORD
from tests.web.people.conftest import PROVE, SIGN_IN, digits, wrong_digits

Stepped = Callable[[Person], SecondStep]
HalfIn = Callable[[Person], Client]


def test_password_alone_opens_nothing(maren: Person, stepped: Stepped, client: Client) -> None:
    stepped(maren)

    response = client.post(SIGN_IN, {"username": "maren", "password": PASSWORD})

    assert (response.status_code, response.headers["Location"]) == (302, PROVE)
    assert "_auth_user_id" not in client.session
    assert client.get("/today/").headers["Location"] == "/people/sign-in/?next=/today/"


def test_digits_of_the_app_let_in(maren: Person, stepped: Stepped, client: Client) -> None:
    row = stepped(maren)
    client.post(SIGN_IN, {"username": "maren", "password": PASSWORD, "next": "/customers/"})

    response = client.post(PROVE, {"code": digits(row.salt)})

    assert (response.status_code, response.headers["Location"]) == (302, "/customers/")
    assert client.session["_auth_user_id"] == str(maren.pk)


def test_same_digits_let_nobody_in_again(maren: Person, stepped: Stepped, half_in: HalfIn) -> None:
    code = digits(stepped(maren).salt)
    first = half_in(maren).post(PROVE, {"code": code})
    second = half_in(maren)

    response = second.post(PROVE, {"code": code})

    assert (first.status_code, response.status_code) == (302, 422)
    assert "This code does not fit, or it was used." in response.content.decode()
    assert "_auth_user_id" not in second.session


def test_code_from_paper_lets_in_once_and_is_told(maren: Person, stepped: Stepped, half_in: HalfIn) -> None:
    stepped(maren)
    code = renew_codes(maren.pk, by=Actor(scope=Scope.DESK, person=maren, at=timezone.now()))[0]

    statuses = [half_in(maren).post(PROVE, {"code": code.lower()}).status_code for _ in range(2)]

    assert statuses == [302, 422]
    assert Activity.objects.get(verb="use recovery code").record == f"person:{maren.pk}"


def test_code_of_somebody_else_does_not_fit(
    maren: Person, ilse: Person, stepped: Stepped, half_in: HalfIn
) -> None:
    stepped(maren)
    of_another = digits(stepped(ilse).salt)

    assert half_in(maren).post(PROVE, {"code": of_another}).status_code == 422


def test_guessing_codes_is_limited(maren: Person, stepped: Stepped, half_in: HalfIn) -> None:
    row = stepped(maren)
    wrong = wrong_digits(row.salt)

    statuses = [half_in(maren).post(PROVE, {"code": wrong}).status_code for _ in range(6)]
    last = half_in(maren).post(PROVE, {"code": digits(row.salt)})

    assert statuses == [422] * 5 + [429]
    assert (last.status_code, int(last.headers["Retry-After"]) > 800) == (429, True)
    assert Activity.objects.filter(verb="miss sign-in", record=f"person:{maren.pk}").count() == 5


def test_waiting_at_the_second_step_ends(
    maren: Person, stepped: Stepped, half_in: HalfIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = half_in(maren) if stepped(maren) else Client()
    later = timezone.now() + timedelta(minutes=11)
    monkeypatch.setattr("shopapp.web.people.half_in.timezone.now", lambda: later)

    response = client.get(PROVE)

    assert (response.status_code, response.headers["Location"]) == (302, SIGN_IN)


@pytest.mark.parametrize("change", [{"is_active": False}, {"password": "md5$changed"}])
def test_half_way_in_ends_with_the_person(
    maren: Person, stepped: Stepped, half_in: HalfIn, change: dict[str, object]
) -> None:
    row = stepped(maren)
    client = half_in(maren)
    Person.objects.filter(pk=maren.pk).update(**change)

    response = client.post(PROVE, {"code": digits(row.salt)})

    assert response.headers["Location"] == SIGN_IN
    assert "_auth_user_id" not in client.session

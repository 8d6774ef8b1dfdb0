"""New codes for paper: with password and code; the old ones end."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.second_steps import renew_codes, take_code
from shopapp.models import Person, SecondStep
from tests.factories import PASSWORD
from tests.web.people.conftest import digits, wrong_digits

ADDRESS = "/people/second-step/renew-codes/"
SignedIn = Callable[[Person], Client]
Stepped = Callable[[Person], SecondStep]


def test_new_codes_take_the_place_of_the_old(ilse: Person, signed_in: SignedIn, stepped: Stepped) -> None:
    row = stepped(ilse)
    by = Actor(scope=Scope.DESK, person=ilse, at=timezone.now())
    old = renew_codes(ilse.pk, by=by)

    response = signed_in(ilse).post(ADDRESS, {"code": digits(row.salt), "password": PASSWORD})

    shown = response.content.decode().count('<li class="mono" translate="no">')
    assert (response.status_code, shown) == (200, 8)
    assert [take_code(ilse.pk, code, by=by) for code in old] == [False] * 8


@pytest.mark.parametrize(("password", "fits"), [("wrong-and-kelp-7", True), (PASSWORD, False)])
def test_codes_are_renewed_by_who_proves_it(
    ilse: Person, signed_in: SignedIn, stepped: Stepped, password: str, fits: bool
) -> None:
    row = stepped(ilse)
    code = digits(row.salt) if fits else wrong_digits(row.salt)

    response = signed_in(ilse).post(ADDRESS, {"code": code, "password": password})

    assert (response.status_code, row.codes.count()) == (422, 0)


def test_without_a_second_step_there_are_no_codes(ilse: Person, signed_in: SignedIn) -> None:
    response = signed_in(ilse).post(ADDRESS, {"code": "123456", "password": PASSWORD})

    assert response.headers["Location"] == "/people/second-step/"

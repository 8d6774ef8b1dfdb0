"""Taking one's second step off: with password and code; never where an owner owes it."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Activity, Person, SecondStep
from tests.factories import PASSWORD
from tests.web.people.conftest import digits, wrong_digits

ADDRESS = "/people/second-step/remove-second-step/"
SignedIn = Callable[[Person], Client]
Stepped = Callable[[Person], SecondStep]


def test_second_step_is_taken_off_by_who_proves_it(
    ilse: Person, signed_in: SignedIn, stepped: Stepped
) -> None:
    row, client = stepped(ilse), signed_in(ilse)

    response = client.post(ADDRESS, {"code": digits(row.salt), "password": PASSWORD})

    assert (response.headers["Location"], SecondStep.objects.count()) == ("/people/second-step/", 0)
    assert Activity.objects.get(verb="remove second step").actor == f"person:{ilse.pk}"


@pytest.mark.parametrize(("password", "fits"), [("wrong-and-kelp-7", True), (PASSWORD, False)])
def test_second_step_stays_without_proof(
    ilse: Person, signed_in: SignedIn, stepped: Stepped, password: str, fits: bool
) -> None:
    row = stepped(ilse)
    code = digits(row.salt) if fits else wrong_digits(row.salt)

    response = signed_in(ilse).post(ADDRESS, {"code": code, "password": password})

    assert (response.status_code, SecondStep.objects.count()) == (422, 1)


def test_owner_who_owes_it_keeps_it(
    maren: Person, signed_in: SignedIn, stepped: Stepped, settings: object
) -> None:
    settings.OWNER_SECOND_STEP = True
    row = stepped(maren)

    response = signed_in(maren).post(ADDRESS, {"code": digits(row.salt), "password": PASSWORD})

    assert (response.status_code, SecondStep.objects.count()) == (409, 1)


def test_next_telephone_gets_another_seed(ilse: Person, signed_in: SignedIn, stepped: Stepped) -> None:
    row, client = stepped(ilse), signed_in(ilse)
    before = client.session.session_key

    client.post(ADDRESS, {"code": digits(row.salt), "password": PASSWORD})

    assert client.session.session_key != before

"""The button that erases a customer's data: asked once, done once, the owner's alone."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Activity, Customer, Person
from tests.factories.persons import MARKED, somebody
from tests.web.pages import text_of

pytestmark = pytest.mark.django_db

SignedIn = Callable[[Person], Client]


@pytest.fixture
def customer(maren: Person, by: Callable[[Person], Actor]) -> Customer:
    return somebody(by=by(maren), is_billed=True)


def test_owner_erases_and_reads_what_stayed_t36(
    customer: Customer, maren: Person, signed_in: SignedIn, key: Callable[[], dict[str, str]]
) -> None:
    client = signed_in(maren)
    sent = key() | {"is_sure": "on"}

    first, again = (client.post(f"/customers/{customer.pk}/erase/", sent) for _ in range(2))

    page = text_of(client.get(first.headers["Location"]))
    assert (first.status_code, again.headers["Location"]) == (302, first.headers["Location"])
    assert Activity.objects.filter(verb="erase customer").count() == 1
    assert ("What stayed, and why" in page, "invoices must be kept" in page, MARKED in page) == (
        True,
        True,
        False,
    )


def test_without_the_tick_nothing_is_erased(
    customer: Customer, maren: Person, signed_in: SignedIn, key: Callable[[], dict[str, str]]
) -> None:
    response = signed_in(maren).post(f"/customers/{customer.pk}/erase/", key())

    assert (response.status_code, "Tick this if you are sure." in text_of(response)) == (422, True)
    assert Customer.objects.get().name == MARKED


def test_refusal_is_a_sentence(
    customer: Customer, maren: Person, signed_in: SignedIn, key: Callable[[], dict[str, str]]
) -> None:
    customer.work_orders.update(stage="ready")

    response = signed_in(maren).post(f"/customers/{customer.pk}/erase/", key() | {"is_sure": "on"})

    assert (response.status_code, "There is open work" in text_of(response)) == (409, True)


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_nobody_but_the_owner_erases(
    *,
    request: pytest.FixtureRequest,
    customer: Customer,
    signed_in: SignedIn,
    key: Callable[[], dict[str, str]],
    who: str,
) -> None:
    client = signed_in(request.getfixturevalue(who))

    response = client.post(f"/customers/{customer.pk}/erase/", key() | {"is_sure": "on"})

    assert (response.status_code, Customer.objects.get().name) == (403, MARKED)

"""The owner's page of terms."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import FeeRate, Person, Shop
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
ADDRESS = "/shop/terms/"
TYPED = {
    "version": "1",
    "diagnosis_fee": "95",
    "fee_credit": "goes_ahead",
    "spending_limit": "1,250.50",
    "minimum_charge": "0",
    "over_agreed": "10",
    "lately_months": "12",
    "invoice_keep_years": "10",
    "storage_free_days": "7",
    "intake_text": "You may look for the fault.",
}


def test_terms_page_holds_what_is_in_force(maren: Person, signed_in: SignedIn, shop: Shop) -> None:
    Shop.objects.update(diagnosis_fee_minor=9_550, over_agreed_e4=250)

    content = signed_in(maren).get(ADDRESS).content.decode()

    assert (content.count('value="95.5'), content.count('name="over_agreed" value="2.5"')) == (1, 1)


@pytest.mark.parametrize("fees", [1, 100])
def test_terms_page_asks_six_times(
    maren: Person,
    signed_in: SignedIn,
    fees: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    client = signed_in(maren)
    FeeRate.objects.bulk_create(
        FeeRate(name=f"Fee {place}", kind="lift", unit_price_e4=850_000) for place in range(fees)
    )

    with django_assert_num_queries(6):
        content = client.get(ADDRESS).content.decode()

    assert content.count("Lift or launch</td>") == fees


def test_terms_are_saved_as_typed(maren: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(maren)

    response = client.post(ADDRESS, TYPED | key())

    shop = Shop.objects.get()
    assert (response.status_code, response.headers["Location"]) == (302, ADDRESS)
    assert (shop.spending_limit_minor, shop.over_agreed_e4, shop.offers_parts_back) == (125_050, 1_000, False)
    assert "The terms are saved." in client.get(ADDRESS).content.decode()


def test_terms_saved_by_somebody_else_meanwhile_are_shown(
    maren: Person, signed_in: SignedIn, key: Key
) -> None:
    Shop.objects.update(version=2, lately_months=6)

    response = signed_in(maren).post(ADDRESS, TYPED | key())

    content = response.content.decode()
    assert (response.status_code, Shop.objects.get().lately_months) == (409, 6)
    assert ('name="version" value="2"' in content, "1,250.50" in content) == (True, True)


def test_terms_form_stands_bad_values(maren: Person, signed_in: SignedIn, key: Key) -> None:
    found = troubles_with_bad_values(
        signed_in(maren),
        ADDRESS,
        good=lambda: TYPED | {"version": str(Shop.objects.get().version)} | key(),
        fields=["diagnosis_fee", "over_agreed", "lately_months", "intake_text", "fee_credit"],
        hidden=["fee_credit"],
    )

    assert found == []


@pytest.mark.parametrize("username", ["ilse", "tobiah"])
def test_terms_are_not_for_others(username: str, request: pytest.FixtureRequest, signed_in: SignedIn) -> None:
    response = signed_in(request.getfixturevalue(username)).get(ADDRESS)

    assert response.status_code == 403

"""One button brings an option up to the shop's minimum charge."""

import pytest
from django.test import Client

from shopapp.models import QuoteLine, QuoteOption, QuoteRevision, Shop
from tests.web.pages import fresh_key, text_of

BUTTON = "Bring it up to the minimum charge of $500.00"


@pytest.fixture
def option(draft: QuoteRevision) -> QuoteOption:
    """It comes to 354.80; the other one is above the minimum."""
    Shop.objects.update(minimum_charge_minor=50_000)
    return QuoteOption.objects.get(choice__revision=draft, position=1)


def test_add_minimum_charge_is_offered_below_it(front_desk: Client, option: QuoteOption) -> None:
    page = text_of(front_desk.get(f"/quotes/{option.choice.revision_id}/edit/"))

    assert page.count(BUTTON) == 1


def test_add_minimum_charge_adds_what_is_missing(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.post(f"/quotes/option/{option.pk}/add-minimum-charge/", fresh_key())

    page = text_of(front_desk.get(response["Location"].partition("#")[0]))
    assert QuoteLine.objects.get(is_minimum_charge=True).unit_price_e4 == 1_452_000
    assert ("Minimum charge" in page, BUTTON in page, "$145.20" in page) == (True, False, True)


def test_add_minimum_charge_twice_is_one_t21(front_desk: Client, option: QuoteOption) -> None:
    key = fresh_key()

    for _ in range(2):
        front_desk.post(f"/quotes/option/{option.pk}/add-minimum-charge/", key)

    assert QuoteLine.objects.filter(is_minimum_charge=True).count() == 1


def test_add_minimum_charge_above_it_is_refused(front_desk: Client, option: QuoteOption) -> None:
    other = QuoteOption.objects.exclude(pk=option.pk).get()

    assert front_desk.post(f"/quotes/option/{other.pk}/add-minimum-charge/", fresh_key()).status_code == 409


def test_add_minimum_charge_is_not_the_technicians(bench: Client, option: QuoteOption) -> None:
    assert bench.post(f"/quotes/option/{option.pk}/add-minimum-charge/", fresh_key()).status_code == 403

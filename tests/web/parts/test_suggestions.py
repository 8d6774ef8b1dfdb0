"""While somebody types a number, the list answers; there is no money in the answer."""

from collections.abc import Callable

from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Part, Person

SignedIn = Callable[[Person], Client]


def listed(number: str, **changes: object) -> Part:
    row = Part.objects.create(
        **{"number": number, "description": "Shaft seal", "unit_price_e4": 184_000, "unit_cost_e4": 91_300}
        | changes
    )
    search_texts.index(row)
    return row


def test_number_brings_its_part(tobiah: Person, signed_in: SignedIn) -> None:
    listed("SR-1188")
    listed("SR-1189", is_active=False)

    content = signed_in(tobiah).get("/parts/suggestions/", {"number": "sr 118"}).content.decode()

    assert content.split() == ["<option", 'value="SR-1188"', 'label="Shaft', 'seal"></option>']


def test_fluid_is_offered_by_name(tobiah: Person, signed_in: SignedIn) -> None:
    listed("OIL-90", description="Gear oil", unit="L")

    content = signed_in(tobiah).get("/parts/suggestions/", {"product": "gear"}).content.decode()

    assert content.split() == ["<option", 'value="Gear', 'oil"', 'label="OIL-90,', 'L"></option>']


def test_nothing_typed_suggests_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    listed("SR-1188")

    assert signed_in(tobiah).get("/parts/suggestions/").content.strip() == b""


def test_suggestions_take_five_queries(
    tobiah: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for place in range(30):
        listed(f"SR-{place:04d}")
    client = signed_in(tobiah)

    with django_assert_num_queries(5):
        client.get("/parts/suggestions/", {"number": "SR-00"})

"""The owner's page of season and starting chances."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Activity, Person, RepairKind, Shop
from tests.factories.quotes import draft_quote

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
ADDRESS = "/shop/chances/"
# common practice, no source: as the design of the shop's first day says
USUAL = {
    "new_unit": "50",
    "new_part": "20",
    "exchange_unit": "15",
    "sound_surface": "8",
    "polished": "5",
    "used_unit": "4",
    "groove_felt": "2",
}
TYPED = {"version": "1", "season_first_month": "6", "season_months": "4"} | USUAL


def test_page_starts_with_what_is_usual(
    maren: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client = signed_in(maren)

    with django_assert_num_queries(4):
        page = client.get(ADDRESS).content.decode()

    assert [kind for kind, odds in USUAL.items() if f'name="{kind}" value="{odds}"' not in page] == []


def test_saved_chances_start_the_next_quote(
    maren: Person, signed_in: SignedIn, key: Key, now: datetime
) -> None:
    client = signed_in(maren)

    response = client.post(ADDRESS, TYPED | key() | {"sound_surface": "12.5"})

    shop = Shop.objects.get()
    assert (response["Location"], shop.starting_chances["sound_surface"]) == (ADDRESS, 800)
    assert Activity.objects.latest("pk").verb == "edit chances"
    draft = draft_quote(maren, at=now)
    choice = draft.choices.get()
    assert (choice.season_first_month, choice.season_months) == (6, 4)
    assert (
        "seals on a sound surface: 1 in 12"
        in client.get(f"/quotes/choice/{choice.pk}/compare/").content.decode()
    )


def test_saving_what_is_in_force_again_keeps_it(maren: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(maren)
    client.post(ADDRESS, TYPED | key())
    first = Shop.objects.get()

    client.post(ADDRESS, TYPED | key() | {"version": str(first.version)})

    assert Shop.objects.get().version == first.version
    assert set(first.starting_chances) == set(RepairKind.values)


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("season_first_month", "13"),
        ("season_months", "0"),
        ("season_months", "x"),
        ("used_unit", "1"),
        ("used_unit", "0"),
        ("used_unit", ""),
        ("used_unit", "NaN"),
        ("used_unit", "1001"),
    ],
)
def test_odd_value_is_told_at_its_field(
    maren: Person, signed_in: SignedIn, key: Key, field: str, text: str
) -> None:
    response = signed_in(maren).post(ADDRESS, TYPED | key() | {field: text})

    assert (response.status_code, Shop.objects.get().starting_chances) == (422, {})
    assert f'id="id_{field}_error"' in response.content.decode()


def test_elder_version_shows_both_t22(maren: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(maren)
    client.post(ADDRESS, TYPED | key())

    response = client.post(ADDRESS, TYPED | key() | {"used_unit": "3"})

    assert response.status_code == 409


def test_chances_are_the_owners(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(ilse).post(ADDRESS, TYPED | key()).status_code == 403

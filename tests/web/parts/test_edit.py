"""A part of the list is written, put right and taken off offer at the desk."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions import search_texts
from shopapp.models import Activity, Part, Person

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {
    "number": "SR-1188",
    "description": "Shaft seal",
    "unit": "each",
    "condition": "new",
    "unit_price": "18.40",
    "is_active": "on",
}


@pytest.fixture
def seal(shop: object) -> Part:
    row = Part.objects.create(number="SR-1188", description="Shaft seal", unit_cost_e4=91_300)
    search_texts.index(row)
    return row


def test_cost_posted_by_the_desk_is_ignored_t02(
    seal: Part, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client = signed_in(ilse)
    content = client.get(f"/parts/{seal.pk}/edit/").content.decode()

    client.post(f"/parts/{seal.pk}/edit/", TYPED | {"version": "1", "unit_cost": "1"} | key())

    seal.refresh_from_db()
    assert (seal.unit_cost_e4, seal.unit_price_e4) == (91_300, 184_000)
    assert ('name="unit_cost"' in content, "9.13" in content) == (False, False)


def test_owner_sees_and_sets_the_cost(seal: Part, maren: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(maren)
    assert 'value="9.13"' in client.get(f"/parts/{seal.pk}/edit/").content.decode()

    client.post(f"/parts/{seal.pk}/edit/", TYPED | {"version": "1", "unit_cost": "8.2125"} | key())

    seal.refresh_from_db()
    assert seal.unit_cost_e4 == 82_125


def test_part_is_taken_off_offer(seal: Part, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    typed = {name: value for name, value in TYPED.items() if name != "is_active"}

    signed_in(ilse).post(f"/parts/{seal.pk}/edit/", typed | {"version": "1"} | key())

    seal.refresh_from_db()
    assert (seal.is_active, Activity.objects.get().verb) == (False, "edit part")


def test_second_desk_sees_both_versions_t22(
    seal: Part, ilse: Person, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    page = f"/parts/{seal.pk}/edit/"
    signed_in(maren).post(page, TYPED | {"version": "1", "description": "Outer seal"} | key())

    lost = signed_in(ilse).post(page, TYPED | {"version": "1", "description": "Inner seal"} | key())

    content = lost.content.decode()
    assert (lost.status_code, "Outer seal" in content, "Inner seal" in content) == (409, True, True)
    # what the other one may have changed of the cost is not theirs to see
    assert "9.13" not in content

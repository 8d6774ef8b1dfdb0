"""A new part is written into the list at the desk."""

import uuid
from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions import search_texts
from shopapp.models import Part, Person
from tests.web.shared.hostile import troubles_with_bad_values

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


def test_new_part_is_written_once(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(ilse), TYPED | key()

    answers = [client.post("/parts/new/", sent) for _ in range(2)]

    row = Part.objects.get()
    assert [answer.headers["Location"] for answer in answers] == [f"/parts/{row.pk}/edit/"] * 2
    assert (row.number, row.unit_price_e4, row.unit_cost_e4) == ("SR-1188", 184_000, None)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"number": "sr 1188"}, "a number that no other part of the list has"),
        ({"number": ""}, "Part number is missing. Please fill it in."),
        ({"unit_price": "-1"}, "a number from 0 to 1,000,000"),
        ({"unit": "ton"}, "ton is not one of the available choices."),
        ({"condition": "own"}, "own is not one of the available choices."),
    ],
)
def test_odd_part_says_why(
    *, seal: Part, ilse: Person, signed_in: SignedIn, key: Key, change: dict[str, str], sentence: str
) -> None:
    response = signed_in(ilse).post("/parts/new/", TYPED | change | key())

    assert (response.status_code, sentence in response.content.decode()) == (422, True)
    assert Part.objects.count() == 1


def test_bad_values_never_break_the_form(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        "/parts/new/",
        good=lambda: TYPED | {"number": str(uuid.uuid4())} | key(),
        fields=("number", "description", "unit_price", "unit", "condition", "tax_code"),
        hidden=("unit", "condition", "tax_code"),
    )

    assert found == []

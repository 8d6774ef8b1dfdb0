"""The label of a part: number, name, and a code that finds it."""

import io
from collections.abc import Callable

import pytest
from django.test import Client
from pypdf import PdfReader

from shopapp.models import Part, Person

SignedIn = Callable[[Person], Client]


@pytest.mark.django_db(transaction=True)
def test_label_is_small_says_what_it_is_and_stays_the_same(ilse: Person, signed_in: SignedIn) -> None:
    seal = Part.objects.create(
        number="SR-1188", description="Shaft seal", unit_price_e4=184_000, condition="rebuilt"
    )
    client = signed_in(ilse)

    answers = [client.get(f"/parts/{seal.pk}/label/") for _ in range(2)]

    (page,) = PdfReader(io.BytesIO(answers[0].content)).pages
    text = page.extract_text()
    assert [round(float(side) * 25.4 / 72) for side in (page.mediabox.width, page.mediabox.height)] == [
        62,
        29,
    ]
    assert [word in text for word in ("SR-1188", "Shaft seal", "rebuilt", "18.40")] == [True] * 3 + [False]
    assert answers[0].content == answers[1].content


def test_label_is_not_for_technicians(tobiah: Person, signed_in: SignedIn) -> None:
    seal = Part.objects.create(number="SR-1188", description="Shaft seal")

    assert signed_in(tobiah).get(f"/parts/{seal.pk}/label/").status_code == 403

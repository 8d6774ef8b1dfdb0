"""The words, the discount and the gift of one line of a draft."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


def test_line_becomes_a_gift_with_its_reason(
    draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client, line = signed_in(ilse), draft.lines.get(position=1)
    typed = {"version": "1", "description": "Gasket set", "is_goodwill": "on"}
    refused = client.post(f"/invoices/line/{line.pk}/", typed | key())
    assert (refused.status_code, refused.content.decode().count("why the shop gives this")) == (422, 2)

    response = client.post(f"/invoices/line/{line.pk}/", typed | {"note": "ours leaked"} | key())

    page = client.get(response.headers["Location"]).content.decode()
    assert "Goodwill, not charged: ours leaked" in page
    assert Invoice.objects.get().without_tax_minor == 12_000


def test_line_form_survives_every_bad_value(
    draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    line = draft.lines.get(position=1)

    found = troubles_with_bad_values(
        signed_in(ilse),
        f"/invoices/line/{line.pk}/",
        # with a discount that is none no line is written, which would give it another address
        good=lambda: {"version": "1", "description": "x", "discount": "x"} | key(),
        fields=("description", "note"),
    ) + troubles_with_bad_values(
        signed_in(ilse),
        f"/invoices/line/{line.pk}/",
        good=lambda: {"version": "1", "description": ""} | key(),
        fields=("discount",),
    )

    assert found == []

"""A line is left out of a draft for now."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


def test_leaving_out_twice_is_once(draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, line, sent = signed_in(ilse), draft.lines.get(position=1), {"version": "1"} | key()

    first = client.post(f"/invoices/line/{line.pk}/leave-out/", sent)
    second = client.post(f"/invoices/line/{line.pk}/leave-out/", {"version": "1"} | key())

    assert (first.status_code, second.status_code) == (302, 404)
    assert Invoice.objects.get().without_tax_minor == 12_000

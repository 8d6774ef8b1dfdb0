"""A draft is worked out anew, by hand changes gone."""

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


def test_redraft_brings_back_what_was_left_out(
    draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client, line = signed_in(ilse), draft.lines.get(position=1)
    client.post(f"/invoices/line/{line.pk}/leave-out/", {"version": "1"} | key())
    page = client.get(f"/invoices/{draft.pk}/").content.decode()
    assert "What you changed of it by hand is lost." in page

    response = client.post(f"/invoices/{draft.pk}/redraft/", {"version": "2"} | key())

    assert (response.status_code, Invoice.objects.get().without_tax_minor) == (302, 18_500)


def test_redraft_of_an_older_page_is_refused(
    draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client, line = signed_in(ilse), draft.lines.get(position=1)
    client.post(f"/invoices/line/{line.pk}/leave-out/", {"version": "1"} | key())

    response = client.post(f"/invoices/{draft.pk}/redraft/", {"version": "1"} | key())

    assert (response.status_code, Invoice.objects.get().without_tax_minor) == (409, 12_000)

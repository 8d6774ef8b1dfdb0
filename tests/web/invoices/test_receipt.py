"""Receipts and credit notes open as papers."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import issued, paid

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
CASH = {"amount": "20.00", "method": "cash"}


def test_papers_open_and_stay_the_same(ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key) -> None:
    invoice, client = issued(by=by(ilse)), signed_in(ilse)
    payment = paid(invoice, "20.00", by=by(ilse))
    client.post(f"/invoices/{invoice.pk}/credit/", {"reason": "billed twice"} | key())
    note = Invoice.objects.get(kind="credit_note")

    for address, name in (
        (f"/invoices/payment/{payment.pk}/receipt/", "R-00001.pdf"),
        (f"/invoices/{note.pk}/paper/", "CN-00001.pdf"),
    ):
        first, second = client.get(address), client.get(address)
        assert (first.status_code, first.content) == (200, second.content)
        assert name in first.headers["Content-Disposition"]

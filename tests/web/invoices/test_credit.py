"""An issued invoice is credited from its page."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import issued

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
CASH = {"amount": "20.00", "method": "cash"}


def test_credit_asks_for_its_reason_and_is_made_once(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    invoice, client = issued(by=by(ilse)), signed_in(ilse)
    address = f"/invoices/{invoice.pk}/credit/"
    assert client.post(address, {"reason": ""} | key()).status_code == 422
    sent = {"reason": "billed twice"} | key()

    answers = [client.post(address, sent) for _ in range(2)]

    note = Invoice.objects.get(kind="credit_note")
    assert [answer.headers["Location"] for answer in answers] == [f"/invoices/{note.pk}/"] * 2
    page = client.get(f"/invoices/{note.pk}/").content.decode()
    assert ("Credit note CN-00001" in page, "billed twice" in page, "/pay/" in page) == (True, True, False)
    page = client.get(f"/invoices/{invoice.pk}/").content.decode()
    assert ("credit note CN-00001" in page, "/credit/" in page, "/pay/" in page) == (True, False, False)
    listed = client.get("/invoices/?show=all").content.decode()
    assert ("Credited" in listed, "-$72.80" in listed, '"figure">$0.00' in listed) == (True, True, True)
    assert "INV-00001" not in client.get("/invoices/").content.decode()

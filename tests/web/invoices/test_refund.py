"""What a payment left over is given back."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Payment, Person, Refund
from tests.factories.invoices import finished_job

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
CASH = {"amount": "20.00", "method": "cash"}


def test_deposit_is_booked_once_and_given_back(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    visit, client, sent = finished_job().work_order_id, signed_in(ilse), CASH | key()

    for _ in range(2):
        client.post(f"/invoices/for/{visit}/deposits/", sent)
    payment = Payment.objects.get()
    page = client.get(f"/invoices/for/{visit}/deposits/").content.decode()
    assert ("R-00001" in page, "$20.00 pays nothing yet" in page) == (True, True)
    too_much = client.post(f"/invoices/payment/{payment.pk}/refund/", CASH | {"amount": "20.01"} | key())
    assert too_much.status_code == 422
    assert "at most $20.00, which is what is left of this payment" in too_much.content.decode()

    client.post(f"/invoices/payment/{payment.pk}/refund/", CASH | key())

    assert (Refund.objects.get().amount_minor, Payment.objects.count()) == (2_000, 1)

"""The list of payments as a file, for the desk."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.payments import PaymentInput, take_payment
from shopapp.models import Person
from tests.factories.invoices import issued

pytestmark = pytest.mark.django_db


def test_desk_gets_every_row_and_technician_none(
    ilse: Person, tobiah: Person, by: Callable[[Person], Actor], signed_in: Callable[[Person], Client]
) -> None:
    bill = issued(by=by(ilse))
    paid = take_payment(bill.pk, PaymentInput(amount=Decimal(1), method="cash", note="=1+1"), by=by(ilse))

    response, refused = (signed_in(one).get("/invoices/payments/") for one in (ilse, tobiah))

    text = response.getvalue().decode()
    assert (str(bill.number) in text, response.status_code, refused.status_code) == (True, 200, 403)
    assert (str(paid.number) in text, '"\'=1+1"' in text) == (True, True)

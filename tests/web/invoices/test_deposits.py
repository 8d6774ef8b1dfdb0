"""Money on a visit is the desk's alone."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Person
from tests.factories.invoices import issued, paid

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
CASH = {"amount": "20.00", "method": "cash"}


@pytest.mark.parametrize("name", ["for/{visit}/deposits", "payment/{payment}/refund", "{invoice}/credit"])
def test_technician_touches_no_money(
    name: str, ilse: Person, tobiah: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    invoice = issued(by=by(ilse))
    payment = paid(invoice, "20.00", by=by(ilse))
    keys = {"visit": invoice.work_order_id, "payment": payment.pk, "invoice": invoice.pk}
    client = signed_in(tobiah)

    for pk in (keys, dict.fromkeys(keys, 999)):
        assert client.post(f"/invoices/{name.format(**pk)}/", CASH | key()).status_code == 403

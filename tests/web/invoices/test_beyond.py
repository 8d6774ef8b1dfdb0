"""The owner bills more than was agreed, with a reason."""

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


def test_check_page_says_how_far_the_bill_goes_beyond_t34(
    draft: Invoice, ilse: Person, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    fee = {"version": "1", "description": "Lift", "quantity": "1", "unit": "each", "unit_price": "40"}
    signed_in(ilse).post(f"/invoices/{draft.pk}/add-fee/", fee | key())

    for person, may in ((ilse, False), (maren, True)):
        page = signed_in(person).get(f"/invoices/{draft.pk}/check/").content.decode()
        assert ("$40.00" in page, f"/invoices/{draft.pk}/beyond/" in page) == (True, may)
    refused = signed_in(ilse).post(f"/invoices/{draft.pk}/issue/", key())
    assert (refused.status_code, Invoice.objects.get().number) == (409, None)
    said = {"version": "2", "reason": "agreed at the dock"} | key()
    assert signed_in(ilse).post(f"/invoices/{draft.pk}/beyond/", said).status_code == 403
    assert signed_in(maren).post(f"/invoices/{draft.pk}/beyond/", said).status_code == 302
    assert signed_in(ilse).post(f"/invoices/{draft.pk}/issue/", key()).status_code == 302

"""Purchase order and discount of a draft."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Invoice, Person
from tests.factories.invoices import Planned, drafted
from tests.web.pages import values_of

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)


@pytest.fixture
def draft(ilse: Person, by: ByPerson) -> Invoice:
    return drafted([Planned(), LABOUR], by=by(ilse))


def test_second_editor_sees_both_and_loses_nothing(
    draft: Invoice, ilse: Person, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    typed = {"version": "1", "purchase_order": "PO 7"}
    signed_in(ilse).post(f"/invoices/{draft.pk}/edit/", typed | key())

    response = signed_in(maren).post(
        f"/invoices/{draft.pk}/edit/", typed | {"purchase_order": "PO 8"} | key()
    )

    content = response.content.decode()
    assert (response.status_code, "PO 7" in content) == (409, True)
    assert (list(values_of(response, "purchase_order")), list(values_of(response, "version"))) == (
        ["PO 8"],
        ["2"],
    )


def test_discount_needs_its_reason_at_the_field(
    draft: Invoice, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    typed = {"version": "1", "discount": "5"}

    response = signed_in(ilse).post(f"/invoices/{draft.pk}/edit/", typed | key())

    assert (response.status_code, Invoice.objects.get().discount_e4) == (422, 0)
    assert response.content.decode().count("why the customer gets the discount") == 2

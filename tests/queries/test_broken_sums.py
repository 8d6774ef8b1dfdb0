"""The checks of what must always be true: quiet on a sound shop, and each names what is wrong."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest
from django.db import connection
from django.db.models import F, Model

from shopapp.actions.actor import Actor
from shopapp.models import Allocation, Invoice, InvoiceLine, InvoiceTax, NumberSeries, Payment, Person
from shopapp.queries.broken_sums import first_broken_sum
from shopapp.triggers import remove_triggers
from tests.factories.invoices import issued

pytestmark = pytest.mark.django_db


@pytest.fixture
def invoice(ilse: Person, by: Callable[[Person], Actor]) -> Invoice:
    """An issued one, half of it paid."""
    invoice = issued(by=by(ilse))
    half = invoice.total_minor // 2
    payment = Payment.objects.create(
        invoice=invoice, amount_minor=half, method="cash", received_at=by(ilse).at, taken_by=ilse
    )
    Allocation.objects.create(payment=payment, invoice=invoice, amount_minor=half, allocated_at=by(ilse).at)
    remove_triggers(connection)
    return invoice


def test_sound_shop_has_no_broken_sum(invoice: Invoice) -> None:
    assert first_broken_sum() is None


@pytest.mark.parametrize(
    ("model", "change", "sentence"),
    [
        (InvoiceLine, {"amount_minor": F("amount_minor") + 1}, "The sums of INV-00001 do not add up."),
        (InvoiceTax, {"tax_minor": F("tax_minor") + 1}, "The sums of INV-00001 do not add up."),
        (
            Allocation,
            {"amount_minor": F("amount_minor") * 3},
            "More is paid on INV-00001 than it comes to, or less than nothing.",
        ),
        (
            NumberSeries,
            {"next_value": F("next_value") + 1},
            "The numbers of invoice have a gap: 1 are given of 2.",
        ),
        (Invoice, {"shown": "{}"}, "What INV-00001 shows was changed."),
    ],
)
def test_each_broken_thing_is_named(
    invoice: Invoice, model: type[Model], change: Mapping[str, Any], sentence: str
) -> None:
    rows = model._default_manager.all()
    if model is NumberSeries:
        rows = rows.filter(code="invoice")
    rows.update(**change)

    assert first_broken_sum() == sentence


def test_payment_that_pays_more_than_came_in_is_named(invoice: Invoice) -> None:
    Payment.objects.update(amount_minor=1)

    assert first_broken_sum() == f"Payment {Payment.objects.get().pk} pays more than came in."

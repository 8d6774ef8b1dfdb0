"""Money comes in for issued invoices, never more than is owed."""

import json
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction

from shopapp.actions.actor import Actor
from shopapp.actions.payments import PaymentInput, take_payment
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Payment, Person
from shopapp.queries.invoices import balance_minor
from tests.factories.invoices import drafted, issued, paid
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]


def card(amount: str, **changes: str) -> PaymentInput:
    return PaymentInput(**{"amount": Decimal(amount), "method": "card"} | changes)


def test_payment_is_booked_and_remembered(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    payment = take_payment(invoice.pk, card("20.00", note="deposit"), by=by(ilse))

    assert (payment.amount_minor, payment.method, payment.note) == (2_000, "card", "deposit")
    assert (payment.taken_by, payment.received_at) == (ilse, by(ilse).at)
    entry = Activity.objects.get(verb="take payment")
    assert (entry.record, entry.work_order_id) == (f"payment:{payment.pk}", invoice.work_order_id)
    facts = {"amount_minor": 2_000, "invoice": "INV-00001", "method": "card"}
    assert json.loads(entry.payload or "") == facts


def test_payments_in_parts_settle_the_invoice(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    balances = [balance_minor(invoice)]
    for amount in ("20.00", "0.01", "52.79"):
        paid(invoice, amount, by=by(ilse))
        balances.append(balance_minor(invoice))

    assert balances == [7_280, 5_280, 5_279, 0]


@pytest.mark.parametrize(
    "amount", ["72.81", "100000000", "0", "0.00", "-1", "-72.80", "1.001", "NaN", "Infinity"]
)
def test_payment_above_balance_or_nil_is_refused_t27(amount: str, ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    with pytest.raises(BadInput, match=r"^amount: ") as refusal:
        take_payment(invoice.pk, card(amount), by=by(ilse))

    assert refusal.value.field == "amount"
    assert (Payment.objects.count(), balance_minor(invoice)) == (0, 7_280)


def test_refusal_names_what_is_owed_t27(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "70.00", by=by(ilse))

    with pytest.raises(BadInput) as refusal:
        take_payment(invoice.pk, card("72.80"), by=by(ilse))

    assert str(refusal.value) == (
        'amount: "72.80" is not accepted. Give an amount above 0 and at most $2.80, which is what is owed.'
    )


def test_payment_of_settled_invoice_is_refused_t27(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))

    with pytest.raises(Refused, match="Nothing is owed on this invoice"):
        take_payment(invoice.pk, card("0.01"), by=by(ilse))


@pytest.mark.django_db(transaction=True)
def test_two_who_take_all_at_once_get_it_once_t27(ilse: Person, maren: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    found = outcomes(
        [lambda: paid(invoice, "72.80", by=by(ilse)), lambda: paid(invoice, "72.80", by=by(maren))]
    )

    assert sorted(type(one).__name__ for one in found) == ["Payment", "Refused"]
    assert balance_minor(invoice) == 0


def test_payment_of_a_draft_is_refused(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))

    with pytest.raises(Refused, match="still a draft"):
        take_payment(draft.pk, card("1.00"), by=by(ilse))


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"method": "shells"}, "method"), ({"method": ""}, "method"), ({"note": "x" * 201}, "note")],
)
def test_payment_with_odd_words_is_refused(
    changes: dict[str, str], field: str, ilse: Person, by: ByPerson
) -> None:
    invoice = issued(by=by(ilse))

    with pytest.raises(BadInput) as refusal:
        take_payment(invoice.pk, card("1.00", **changes), by=by(ilse))

    assert (refusal.value.field, Payment.objects.count()) == (field, 0)


def test_technician_may_not_take_payments(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        take_payment(invoice.pk, card("1.00"), by=by(tobiah))


def test_payment_never_changes(ilse: Person, by: ByPerson) -> None:
    payment = paid(issued(by=by(ilse)), "20.00", by=by(ilse))

    with pytest.raises(DatabaseError), transaction.atomic():
        Payment.objects.filter(pk=payment.pk).update(amount_minor=1)
    with pytest.raises(DatabaseError), transaction.atomic():
        payment.delete()

    assert Payment.objects.get(pk=payment.pk).amount_minor == 2_000

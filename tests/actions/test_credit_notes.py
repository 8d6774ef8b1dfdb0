"""T26: a wrong invoice is taken back whole; it stays as it is, and its work and its money are free again."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db.models import Sum

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.actions.credit_notes import credit_invoice
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.payments import PaymentInput, give_refund, take_deposit, take_payment
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.documents.canonical import digest
from shopapp.models import Allocation, BilledSource, Invoice, Payment, Person, Refund, Shop, TaxRate
from shopapp.queries.deposits import deposit_minor
from shopapp.queries.invoices import balance_minor, owed_minor
from tests.factories.invoices import Planned, drafted, finished_job, issued, paid
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]
LABOUR = Planned(kind="labour", description="Fit it", number="", unit="h", unit_price_e4=1_200_000)
ODD = Planned(
    kind="fluid",
    description="Oil",
    number="",
    unit="L",
    quantity_milli=733,
    unit_price_e4=284_550,
    discount_e4=333,
)
SUMS = ("without_tax_minor", "tax_minor", "total_minor", "discount_minor")


def card(amount: str) -> PaymentInput:
    return PaymentInput(amount=Decimal(amount), method="card")


@pytest.mark.parametrize("level", ["line", "breakdown"])
def test_credit_is_exactly_the_invoice_t26(level: str, ilse: Person, by: ByPerson) -> None:
    Shop.objects.update(tax_level=level)
    invoice = issued([Planned(), LABOUR, ODD], by=by(ilse))
    before: Any = Invoice.objects.filter(pk=invoice.pk).values().get()
    # neither a later tax nor a later rounding of the shop moves the credit
    TaxRate.objects.update(rate_e6=90_000)
    Shop.objects.update(rounding="half_even")

    note = credit_invoice(invoice.pk, "billed twice", by=by(ilse))

    assert Invoice.objects.filter(pk=invoice.pk).values().get() == before
    assert [getattr(note, name) - before[name] for name in SUMS] == [0, 0, 0, 0]
    facts = ("kind", "description", "quantity_milli", "unit_price_e4", "discount_e4", "amount_minor")
    assert list(note.lines.order_by("position").values_list(*facts)) == list(
        invoice.lines.order_by("position").values_list(*facts)
    )
    taxes = ("name", "category", "rate_e6", "taxable_minor", "tax_minor")
    assert list(note.taxes.order_by("pk").values_list(*taxes)) == list(
        invoice.taxes.order_by("pk").values_list(*taxes)
    )
    assert (note.number, note.kind, note.tax_date) == ("CN-00001", "credit_note", invoice.tax_date)
    assert digest(note.shown) == note.shown_sha256
    assert (balance_minor(invoice), balance_minor(note), owed_minor(invoice.work_order)) == (0, 0, 0)
    assert first_bad_link() is None


def test_credited_work_is_billed_again(ilse: Person, by: ByPerson) -> None:
    invoice = issued([Planned(), LABOUR], by=by(ilse))
    with pytest.raises(Refused, match="nothing to bill"):
        draft_invoice(invoice.work_order_id, by=by(ilse))

    credit_invoice(invoice.pk, "wrong customer", by=by(ilse))

    assert BilledSource.objects.count() == 0
    second = issue_invoice(draft_invoice(invoice.work_order_id, by=by(ilse)).pk, by=by(ilse))
    assert (second.number, second.total_minor) == ("INV-00002", invoice.total_minor)


def test_money_of_a_credited_invoice_pays_the_next(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "50.00", by=by(ilse))

    credit_invoice(invoice.pk, "wrong words", by=by(ilse))

    assert deposit_minor(invoice.work_order) == 5_000
    second = issue_invoice(draft_invoice(invoice.work_order_id, by=by(ilse)).pk, by=by(ilse))
    assert (second.deposit_minor, balance_minor(second)) == (5_000, 2_280)
    assert deposit_minor(invoice.work_order) == 0


def test_money_of_a_credited_invoice_is_given_back(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    payment = paid(invoice, "50.00", by=by(ilse))
    with pytest.raises(Refused, match="Nothing is left of this payment"):
        give_refund(payment.pk, card("1.00"), by=by(ilse))
    credit_invoice(invoice.pk, "sold the boat", by=by(ilse))
    give_refund(payment.pk, card("20.00"), by=by(ilse))

    with pytest.raises(BadInput, match=r"at most \$30.00, which is what is left of this payment"):
        give_refund(payment.pk, card("30.01"), by=by(ilse))

    give_refund(payment.pk, card("30.00"), by=by(ilse))
    assert Refund.objects.aggregate(sum=Sum("amount_minor"))["sum"] == 5_000
    assert Allocation.objects.aggregate(sum=Sum("amount_minor"))["sum"] == 0


def test_credit_sent_twice_is_one_credit(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    notes = [credit_invoice(invoice.pk, "billed twice", by=by(ilse)).number for _ in range(2)]

    assert (notes, Invoice.objects.count()) == (["CN-00001", "CN-00001"], 2)


@pytest.mark.django_db(transaction=True)
def test_two_who_credit_at_once_make_one(ilse: Person, maren: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "50.00", by=by(ilse))

    found = outcomes(
        [lambda who=who: credit_invoice(invoice.pk, "twice", by=by(who)).number for who in (ilse, maren)]
    )

    assert found == ["CN-00001", "CN-00001"]
    assert deposit_minor(invoice.work_order) == 5_000


def test_credit_while_the_next_bill_is_drafted(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    finished_job([LABOUR], work_order=invoice.work_order)
    draft = draft_invoice(invoice.work_order_id, by=by(ilse))

    note = credit_invoice(invoice.pk, "wrong words", by=by(ilse))

    assert (note.work_order_id, Invoice.objects.filter(issued_at=None).get()) == (
        invoice.work_order_id,
        draft,
    )
    with pytest.raises(Refused, match="has changed since this draft was made"):
        issue_invoice(draft.pk, by=by(ilse))


@pytest.mark.parametrize("reason", ["", "   ", "x" * 301])
def test_credit_needs_a_reason(reason: str, ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))

    with pytest.raises(BadInput, match="why it is taken back"):
        credit_invoice(invoice.pk, reason, by=by(ilse))

    assert Invoice.objects.count() == 1


def test_neither_draft_nor_credit_note_is_credited(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    note = credit_invoice(issued(by=by(ilse)).pk, "billed twice", by=by(ilse))

    with pytest.raises(Refused, match="still a draft"):
        credit_invoice(draft.pk, "x", by=by(ilse))
    with pytest.raises(Refused, match="can't be credited"):
        credit_invoice(note.pk, "x", by=by(ilse))
    with pytest.raises(Refused, match="nobody owes anything"):
        take_payment(note.pk, card("1.00"), by=by(ilse))


def test_technician_may_not_credit(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    with pytest.raises(NotAllowed):
        credit_invoice(issued(by=by(ilse)).pk, "x", by=by(tobiah))


def test_deposit_comes_off_the_invoice_it_is_issued_with(ilse: Person, by: ByPerson) -> None:
    job = finished_job()
    first = take_deposit(job.work_order_id, card("20.00"), by=by(ilse))
    take_deposit(job.work_order_id, card("100.00"), by=replace(by(ilse), at=by(ilse).at + timedelta(hours=1)))

    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    # by hand: 72.80 with tax; 20.00 and then 52.80 of the second
    assert (first.number, invoice.deposit_minor, balance_minor(invoice)) == ("R-00001", 7_280, 0)
    assert list(Allocation.objects.order_by("pk").values_list("amount_minor", flat=True)) == [2_000, 5_280]
    assert deposit_minor(job.work_order) == 4_720
    with pytest.raises(Refused, match="Nothing is owed"):
        take_payment(invoice.pk, card("1.00"), by=by(ilse))


@pytest.mark.parametrize("amount", ["0", "-5", "0.001"])
def test_deposit_of_no_whole_coin_is_refused(amount: str, ilse: Person, by: ByPerson) -> None:
    with pytest.raises(BadInput):
        take_deposit(finished_job().work_order_id, card(amount), by=by(ilse))

    assert Payment.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_two_who_give_back_at_once_give_it_once(ilse: Person, maren: Person, by: ByPerson) -> None:
    payment = take_deposit(finished_job().work_order_id, card("20.00"), by=by(ilse))

    found = outcomes(
        [lambda who=who: give_refund(payment.pk, card("20.00"), by=by(who)).pk for who in (ilse, maren)]
    )

    assert sorted(isinstance(one, Refused) for one in found) == [False, True]
    assert Refund.objects.count() == 1

"""Takes money for invoices and deposits on visits, and gives back what is left over."""

from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.invoices import lock_visit
from shopapp.actions.locks import locked
from shopapp.actions.numbering import take_number
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.calc.money import format_money, from_minor, to_minor
from shopapp.models import Allocation, Invoice, InvoiceKind, Payment, PaymentMethod, Refund, Stage, WorkOrder
from shopapp.queries.deposits import with_left
from shopapp.queries.invoices import balance_minor
from shopapp.queries.shop import the_shop

LONGEST_NOTE = 200


@dataclass(frozen=True, kw_only=True)
class PaymentInput:
    """What was received: an amount of the shop's currency in whole coins, how, and a note."""

    amount: Decimal
    method: str
    note: str = ""


@transaction.atomic
def take_payment(invoice_pk: int, data: PaymentInput, *, by: Actor) -> Payment:
    """Book money for an issued invoice; never more than is owed.

    Locks the work order, the invoice, the series of receipts, then the chain head, so of two who take money
    at once the second sees what the first left. A second sender with the same request key gets the first
    payment (``once``); without a key it is a second payment. If the power fails before the commit nothing
    is booked; after it, it is. Raises Refused for a draft, a credit note, or when nothing is owed; BadInput
    for an amount, method or note that will not do.
    """
    work_order = lock_visit(invoice_pk)
    invoice = locked(Invoice.objects.filter(pk=invoice_pk)).get()
    desk_person(by)
    amount_minor = _accepted_minor(invoice, data=data)
    return book_payment(invoice, data, work_order=work_order, amount_minor=amount_minor, by=by)


def book_payment(
    invoice: Invoice, data: PaymentInput, *, work_order: WorkOrder | None, amount_minor: int, by: Actor
) -> Payment:
    """Write the payment with its receipt number and what it pays; the caller holds the invoice."""
    payment = Payment.objects.create(
        number=take_number("receipt"),
        work_order=work_order,
        invoice=invoice,
        amount_minor=amount_minor,
        method=data.method,
        note=data.note,
        received_at=by.at,
        taken_by=desk_person(by),
    )
    Allocation.objects.create(payment=payment, invoice=invoice, amount_minor=amount_minor, allocated_at=by.at)
    search_texts.index(payment)
    facts = {"invoice": invoice.number, "amount_minor": amount_minor, "method": data.method}
    activity.record([Entry(verb="take payment", record=payment, facts=facts, work_order=work_order)], by=by)
    return payment


@transaction.atomic
def take_deposit(work_order_pk: int, data: PaymentInput, *, by: Actor) -> Payment:
    """Book money on a visit before there is a bill; it is taken off the next invoice that is issued.

    Locks the work order, the series of receipts, then the chain head. A second sender with the same request
    key gets the first payment; without a key it is a second one. If the power fails before the commit
    nothing is booked; after it, it is. Raises Refused for a cancelled visit, BadInput for an amount, method
    or note that will not do. A deposit carries no tax: the bill taxes the whole.
    """
    work_order = lock_work_order(work_order_pk)
    person = desk_person(by)
    if work_order.stage == Stage.CANCELLED:
        raise Refused(_("This visit is cancelled; no money is taken for it."))
    _check_words(data)
    amount_minor = _some(data.amount)
    payment = Payment.objects.create(
        number=take_number("receipt"),
        work_order=work_order,
        amount_minor=amount_minor,
        method=data.method,
        note=data.note,
        received_at=by.at,
        taken_by=person,
    )
    search_texts.index(payment)
    facts = {"number": payment.number, "amount_minor": amount_minor, "method": data.method}
    activity.record([Entry(verb="take deposit", record=payment, facts=facts, work_order=work_order)], by=by)
    return payment


@transaction.atomic
def give_refund(payment_pk: int, data: PaymentInput, *, by: Actor) -> Refund:
    """Give money back out of what a payment left over: it pays no invoice.

    Locks the work order, the payment, then the chain head, so of two who give back at once the second sees
    what the first left. A second sender with the same request key gets the first refund. If the power fails
    before the commit nothing is given; after it, it is. Raises Refused when nothing is left, BadInput for
    more than that.
    """
    work_order = _visit_of(payment_pk)
    payment = locked(Payment.objects.filter(pk=payment_pk)).get()
    person = desk_person(by)
    _check_words(data)
    left: int = with_left().get(pk=payment.pk).left  # type: ignore[attr-defined]  # annotated by with_left
    if left <= 0:
        raise Refused(_("Nothing is left of this payment: all of it pays an invoice or was given back."))
    sentence = _("an amount above 0 and at most %s, which is what is left of this payment")
    refund = Refund.objects.create(
        payment=payment,
        amount_minor=_at_most(data.amount, most=left, sentence=sentence),
        method=data.method,
        note=data.note,
        given_at=by.at,
        given_by=person,
    )
    facts = {"payment": payment.number, "amount_minor": refund.amount_minor, "method": data.method}
    activity.record([Entry(verb="give refund", record=refund, facts=facts, work_order=work_order)], by=by)
    return refund


def _visit_of(payment_pk: int) -> WorkOrder | None:
    pk: int | None = Payment.objects.values_list("work_order_id", flat=True).get(pk=payment_pk)
    return lock_work_order(pk) if pk is not None else None


def _accepted_minor(invoice: Invoice, *, data: PaymentInput) -> int:
    if invoice.issued_at is None:
        raise Refused(_("This invoice is still a draft. Issue it first, then take the money."))
    if invoice.kind == InvoiceKind.CREDIT_NOTE:
        raise Refused(_("This is a credit note; nobody owes anything on it."))
    owed = balance_minor(invoice)
    if owed <= 0:
        raise Refused(_("Nothing is owed on this invoice."))
    _check_words(data)
    sentence = _("an amount above 0 and at most %s, which is what is owed")
    return _at_most(data.amount, most=owed, sentence=sentence)


def _check_words(data: PaymentInput) -> None:
    if data.method not in PaymentMethod.values:
        raise BadInput("method", data.method, ", ".join(PaymentMethod.values))
    if len(data.note) > LONGEST_NOTE:
        raise BadInput("note", data.note, _("at most %s characters") % LONGEST_NOTE)


def _some(amount: Decimal) -> int:
    minor = to_minor(amount, currency=the_shop().currency, field="amount")
    if minor <= 0:
        raise BadInput("amount", amount, _("an amount above 0"))
    return minor


def _at_most(amount: Decimal, *, most: int, sentence: str) -> int:
    shop = the_shop()
    minor = to_minor(amount, currency=shop.currency, field="amount")
    if not 0 < minor <= most:
        shown = format_money(
            from_minor(most, currency=shop.currency), currency=shop.currency, locale=shop.locale
        )
        raise BadInput("amount", amount, sentence % shown)
    return minor

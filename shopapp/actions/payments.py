"""Takes money for invoices."""

from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.invoices import lock_visit, require_desk
from shopapp.actions.numbering import take_number
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.calc.money import format_money, from_minor, to_minor
from shopapp.models import Allocation, Invoice, Payment, PaymentMethod
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
    is booked; after it, it is.
    Raises Refused for a draft or when nothing is owed, BadInput for an amount, method or note that will
    not do.
    """
    work_order = lock_visit(invoice_pk)
    invoice = Invoice.objects.select_for_update().get(pk=invoice_pk)
    person = require_desk(by)
    amount_minor = _accepted_minor(invoice, data=data)
    payment = Payment.objects.create(
        number=take_number("receipt"),
        work_order=work_order,
        invoice=invoice,
        amount_minor=amount_minor,
        method=data.method,
        note=data.note,
        received_at=by.at,
        taken_by=person,
    )
    Allocation.objects.create(payment=payment, invoice=invoice, amount_minor=amount_minor, allocated_at=by.at)
    facts = {"invoice": invoice.number, "amount_minor": amount_minor, "method": data.method}
    activity.record([Entry(verb="take payment", record=payment, facts=facts, work_order=work_order)], by=by)
    return payment


def _accepted_minor(invoice: Invoice, *, data: PaymentInput) -> int:
    if invoice.issued_at is None:
        raise Refused(_("This invoice is still a draft. Issue it first, then take the money."))
    owed = balance_minor(invoice)
    if owed <= 0:
        raise Refused(_("Nothing is owed on this invoice."))
    if data.method not in PaymentMethod.values:
        raise BadInput("method", data.method, ", ".join(PaymentMethod.values))
    if len(data.note) > LONGEST_NOTE:
        raise BadInput("note", data.note, _("at most %s characters") % LONGEST_NOTE)
    return _within_balance(data.amount, owed=owed)


def _within_balance(amount: Decimal, *, owed: int) -> int:
    shop = the_shop()
    minor = to_minor(amount, currency=shop.currency, field="amount")
    if not 0 < minor <= owed:
        most = format_money(
            from_minor(owed, currency=shop.currency), currency=shop.currency, locale=shop.locale
        )
        accepted = _("an amount above 0 and at most %s, which is what is owed") % most
        raise BadInput("amount", amount, accepted)
    return minor

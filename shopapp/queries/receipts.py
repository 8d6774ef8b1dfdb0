"""What a receipt says: who paid how much, when, how, and for what."""

from typing import Any

from django.utils.translation import gettext as _

from shopapp.models import Payment, PaymentMethod
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import texts_of
from shopapp.queries.vessels import boat_line

SCHEMA = 1


def receipt_content(payment: Payment) -> dict[str, Any]:
    """The map, from what never changes of a payment fetched with invoice, visit and person. One query."""
    shop, visit = the_shop(), payment.work_order
    texts = texts_of(shop)
    customer = _payer(payment)
    return {
        "schema": SCHEMA,
        "paper_size": shop.paper,
        "shop": {
            "name": shop.name,
            "address": shop.address,
            "phone": shop.phone,
            "email": shop.email,
            "tax_number": shop.tax_number,
        },
        "number": payment.number or "",
        "day_shown": texts.day_of(payment.received_at),
        "from": customer,
        "amount_minor": payment.amount_minor,
        "amount_shown": texts.money(payment.amount_minor),
        "method_shown": str(PaymentMethod(payment.method).label),
        "note": payment.note,
        "taken_by": payment.taken_by.name,
        "for_shown": _purpose(payment),
        "work_order": visit.number if visit is not None else "",
        "boat": boat_line(visit.vessel) if visit is not None else "",
        "is_deposit": payment.invoice_id is None,
    }


def _payer(payment: Payment) -> str:
    if payment.invoice is not None:
        return payment.invoice.customer.name if payment.invoice.customer is not None else ""
    return payment.work_order.customer.name if payment.work_order is not None else ""


def _purpose(payment: Payment) -> str:
    if payment.invoice is not None:
        return _("Invoice %s") % payment.invoice.number
    number = payment.work_order.number if payment.work_order is not None else ""
    return _("Deposit on work order %s, taken off the bill") % number

"""Says which invoice money pays: deposits are taken off at issue, a credit gives money free again."""

from django.db.models import QuerySet

from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.models import Allocation, Invoice, Payment
from shopapp.queries.deposits import with_left


def allocate_deposits(invoice: Invoice, *, by: Actor) -> int:
    """Take what was paid on the visit and pays nothing yet off this invoice; how much that is.

    The caller holds the work order and the invoice; locks the payments. The oldest money goes first, and
    never more than the invoice comes to.
    """
    left_to_pay = invoice.total_minor
    for payment in free_payments(invoice):
        amount = min(payment.left, left_to_pay)  # type: ignore[attr-defined]  # annotated by with_left
        if amount <= 0:
            continue
        Allocation.objects.create(payment=payment, invoice=invoice, amount_minor=amount, allocated_at=by.at)
        left_to_pay -= amount
    return invoice.total_minor - left_to_pay


def free_payments(invoice: Invoice) -> "QuerySet[Payment]":
    """The payments on the visit of an invoice, locked, the oldest first, each with what is left of it."""
    if invoice.work_order_id is None:
        return Payment.objects.none()
    keys = list(locked(Payment.objects.filter(work_order=invoice.work_order_id)).values_list("pk", flat=True))
    return with_left().filter(pk__in=keys).order_by("received_at", "pk")


def release(invoice: Invoice, *, by: Actor) -> int:
    """Give free what pays this invoice, by a row below nil for each payment; how much that is."""
    released = 0
    for payment, amount in paid_by(invoice).items():
        Allocation.objects.create(
            payment_id=payment, invoice=invoice, amount_minor=-amount, allocated_at=by.at
        )
        released += amount
    return released


def paid_by(invoice: Invoice) -> dict[int, int]:
    """Payment → what of it pays this invoice."""
    sums: dict[int, int] = {}
    for row in Allocation.objects.filter(invoice=invoice).order_by("pk"):
        sums[row.payment_id] = sums.get(row.payment_id, 0) + row.amount_minor
    return {payment: amount for payment, amount in sums.items() if amount}

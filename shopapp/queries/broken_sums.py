"""What must always be true of money and numbers, asked of every row; each check names what is wrong.

For commands, not for pages: every issued document is read.
"""

import hashlib
from collections.abc import Callable, Iterator
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from shopapp.models import (
    UNSENT,
    Allocation,
    Invoice,
    InvoiceKind,
    InvoiceLine,
    InvoiceTax,
    NumberSeries,
    Payment,
    Quote,
    QuoteRevision,
    Refund,
    WorkOrder,
)
from shopapp.queries.invoices import with_paid


def first_broken_sum() -> str | None:
    """The first sentence of all checks, or ``None``. Nothing is locked."""
    return next((fault for check in CHECKS for fault in check()), None)


def broken_totals() -> Iterator[str]:
    """Lines less the discount are the amount without tax, taxes by rate are the tax, both are the total."""
    amounts = _sum_of(InvoiceLine.objects.all(), "amount_minor")
    tax_rows = _sum_of(InvoiceTax.objects.all(), "tax_minor")
    issued = Invoice.objects.filter(issued_at__isnull=False).annotate(amounts=amounts, taxed=tax_rows)
    adds_up = Q(
        without_tax_minor=F("amounts") - F("discount_minor"),
        tax_minor=F("taxed"),
        total_minor=F("without_tax_minor") + F("tax_minor"),
    )
    for row in issued.exclude(adds_up).order_by("pk"):
        yield f"The sums of {row} do not add up."


def overpaid_invoices() -> Iterator[str]:
    """No invoice has more paid and credited than its total, nor less than nothing paid."""
    within = Q(paid__gte=0, paid__lte=F("total_minor") - F("credited"))
    rows = with_paid().filter(kind=InvoiceKind.INVOICE, issued_at__isnull=False)
    for row in rows.exclude(within).order_by("pk"):
        yield f"More is paid on {row} than it comes to, or less than nothing."


def overspent_payments() -> Iterator[str]:
    """No payment pays more, with what was given back of it, than came in."""
    used = Coalesce(Subquery(_sums(Allocation.objects.all(), "payment", "amount_minor")), 0)
    back = Coalesce(Subquery(_sums(Refund.objects.all(), "payment", "amount_minor")), 0)
    for row in Payment.objects.annotate(left=F("amount_minor") - used - back).filter(left__lt=0):
        yield f"Payment {row.number or row.pk} pays more than came in."


def broken_series() -> Iterator[str]:
    """Each series runs from 1 without a gap or a repeat."""
    for series in NumberSeries.objects.order_by("code"):
        if series.code not in NUMBERED:
            continue
        given = NUMBERED[series.code]().filter(number__isnull=False).count()
        if given != series.next_value - 1:
            yield f"The numbers of {series.code} have a gap: {given} are given of {series.next_value - 1}."


def changed_texts() -> Iterator[str]:
    """What was shown on an issued invoice or a sent quote still has the hash that was kept with it."""
    issued = Invoice.objects.filter(issued_at__isnull=False).only("number", "shown", "shown_sha256")
    # what was shown to somebody whose data was erased is empty: its hash alone is left
    erased = Q(shown="", quote__work_order__customer__erased_at__isnull=False)
    sent = QuoteRevision.objects.exclude(erased).exclude(state__in=UNSENT).select_related("quote")
    for rows in (issued, sent):
        for row in rows.order_by("pk").iterator(chunk_size=200):
            if hashlib.sha256(row.shown.encode()).hexdigest() != row.shown_sha256:
                yield f"What {row} shows was changed."


def _sum_of(rows: "QuerySet[InvoiceLine] | QuerySet[InvoiceTax]", column: str) -> Coalesce:
    return Coalesce(Subquery(_sums(rows, "invoice", column)), 0)


def _sums(rows: "QuerySet[Any]", to: str, column: str) -> "QuerySet[Any, Any]":
    """The sum of a column over the rows that belong to the outer row."""
    summed: QuerySet[Any, Any] = (
        rows.filter(**{to: OuterRef("pk")}).order_by().values(to).annotate(sum=Sum(column))
    )
    return summed.values("sum")


NUMBERED: dict[str, Callable[[], "QuerySet[Any]"]] = {
    "work_order": WorkOrder.objects.all,
    "quote": Quote.objects.all,
    "invoice": Invoice.objects.filter(kind=InvoiceKind.INVOICE).all,
    "credit_note": Invoice.objects.filter(kind=InvoiceKind.CREDIT_NOTE).all,
}
CHECKS: tuple[Callable[[], Iterator[str]], ...] = (
    broken_totals,
    overpaid_invoices,
    overspent_payments,
    broken_series,
    changed_texts,
)

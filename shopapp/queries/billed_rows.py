"""What the issued bills of a visit have, and what a draft would add: every line with what it bills."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.db.models import Q
from django.db.models.functions import Coalesce

from shopapp.calc.billing import Source
from shopapp.models import SOURCES, Invoice, InvoiceKind, InvoiceLine, WorkOrder

# the rows of the actual book, which the owner may bill although nobody agreed to them
_OWNERS_BOOKS = tuple(name for name in SOURCES if name != "plan_line")


@dataclass(frozen=True, kw_only=True)
class BilledRow:
    """A line of an issued bill that stands, or of the draft that was asked for.

    ``is_by_owner``: it bills a row that nobody agreed to, on the owner's word.
    """

    invoice_pk: int
    job_pk: int | None
    origin: str
    amount_minor: int
    discount_minor: int
    claims: frozenset[Source]
    is_by_owner: bool


def billed_rows(work_order: WorkOrder, *, draft: Invoice | None = None) -> tuple[BilledRow, ...]:
    """The lines of the issued invoices of a visit that are not credited, and of this draft. One query."""
    standing = Q(
        invoice__work_order=work_order,
        invoice__kind=InvoiceKind.INVOICE,
        invoice__issued_at__isnull=False,
        invoice__credit_note__isnull=True,
    )
    wanted = standing if draft is None else standing | Q(invoice=draft)
    overrides = [f"sources__{name}__override_by" for name in _OWNERS_BOOKS]
    rows = InvoiceLine.objects.filter(wanted).annotate(by_owner=Coalesce(*overrides)).order_by("pk")
    keys = [f"sources__{name}" for name in SOURCES]
    facts = ("pk", "invoice", "job", "origin", "amount_minor", "invoice__discount_minor", "by_owner")
    found = rows.values(*facts, *keys)
    return tuple(_row(list(some)) for _pk, some in groupby(found, key=lambda row: row["pk"]))


def _row(some: Sequence[dict[str, Any]]) -> BilledRow:
    first = some[0]
    return BilledRow(
        invoice_pk=first["invoice"],
        job_pk=first["job"],
        origin=first["origin"],
        amount_minor=first["amount_minor"],
        discount_minor=first["invoice__discount_minor"],
        claims=frozenset(
            (name, row[f"sources__{name}"])
            for row in some
            for name in SOURCES
            if row[f"sources__{name}"] is not None
        ),
        is_by_owner=any(row["by_owner"] is not None for row in some),
    )

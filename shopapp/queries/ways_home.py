"""What stands between a boat and its way home, and between a visit and its being called off."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, Model, OuterRef, QuerySet
from django.utils.translation import gettext as _

from shopapp.models import (
    FeeEntry,
    FluidEntry,
    Invoice,
    Job,
    PartUsed,
    Payment,
    QuoteRevision,
    RevisionState,
    Stage,
    SubletEntry,
    TimeEntry,
    WorkOrder,
)
from shopapp.queries.invoices import balance_of, with_paid
from shopapp.queries.unbilled import unbilled

# where a job stands that nobody has done more than look at
UNTOUCHED = (Stage.BOOKED, Stage.HERE, Stage.DIAGNOSIS, Stage.CANCELLED)
BOOKS: tuple[type[Model], ...] = (PartUsed, TimeEntry, FluidEntry, SubletEntry, FeeEntry)


@dataclass(frozen=True, kw_only=True)
class WayHome:
    """Whether work is unbilled or waits for a word, what is owed and by whom, and what must come in first.

    Customers with an account owe, but not now.
    """

    is_unbilled: bool
    is_waiting: bool
    owed_minor: int
    owed_now_minor: int
    owed_by: tuple[str, ...]
    lacks_purchase_order: bool


def way_home(work_order: WorkOrder) -> WayHome:
    """What must be settled before this boat goes; bounded queries, whatever was logged and billed."""
    left = unbilled(work_order)
    unpaid = [(one, balance_of(one)) for one in _issued(work_order)]
    owed = [(one, owed) for one, owed in unpaid if owed > 0]
    now = [(one, owed) for one, owed in owed if one.customer is None or not one.customer.is_account]
    buyers = {work_order.customer, *(one.customer for one, _owed in unpaid if one.customer is not None)}
    has_number = bool(work_order.purchase_order) or any(one.purchase_order for one, _owed in unpaid)
    return WayHome(
        is_unbilled=bool(left.lines),
        is_waiting=bool(left.waiting),
        owed_minor=sum(amount for _one, amount in owed),
        owed_now_minor=sum(amount for _one, amount in now),
        owed_by=tuple(dict.fromkeys(one.customer.name for one, _owed in now if one.customer is not None)),
        lacks_purchase_order=any(one.needs_purchase_order for one in buyers)
        and not has_number
        and bool(unpaid),
    )


def _issued(work_order: WorkOrder) -> "QuerySet[Invoice]":
    rows = with_paid().filter(work_order=work_order, issued_at__isnull=False, kind="invoice")
    return rows.select_related("customer").order_by("pk")


def obstacle_to_cancelling(work_order: WorkOrder) -> str:
    """Why a visit can't be called off any more, in a sentence; empty when it can. One query.

    Struck rows count nowhere. A draft of a quote nobody has seen is no obstacle.
    """
    columns = {f"has_{name}": Exists(rows) for name, rows in _ties().items()}
    found: Mapping[str, Any] = WorkOrder.objects.filter(pk=work_order.pk).values(**columns).get()
    sentences = {
        "bill": _("There is an invoice for this visit, so it can't be called off."),
        "payment": _("Money was taken for this visit, so it can't be called off. Give it back first."),
        "quote": _("The customer was asked by a quote. Say for each job how it ended instead."),
        "move": _("A job has gone on already. Say for each job how it ended instead."),
    }
    logged = _("Work is logged on this visit. Say for each job how it ended instead.")
    named = (name for name in _ties() if found[f"has_{name}"])
    first = next(named, None)
    return "" if first is None else sentences.get(first, logged)


def _ties() -> Mapping[str, "QuerySet[Any]"]:
    """What ties a visit down, in the order in which it is said."""
    visit = OuterRef("pk")
    asked = QuoteRevision.objects.filter(
        quote__work_order=visit, state__in=(RevisionState.SENT, RevisionState.DECIDED)
    )
    books = {
        book._meta.label_lower: book._default_manager.filter(job__work_order=visit, struck_at__isnull=True)
        for book in BOOKS
    }
    return {
        "bill": Invoice.objects.filter(work_order=visit),
        "payment": Payment.objects.filter(work_order=visit),
        "quote": asked,
        **{name.replace(".", "_"): rows for name, rows in books.items()},
        "move": Job.objects.filter(work_order=visit).exclude(stage__in=UNTOUCHED),
    }

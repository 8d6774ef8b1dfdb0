"""What may be billed, what is owed, and the list of invoices."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Max, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

from shopapp.models import (
    FluidEntry,
    Invoice,
    Job,
    Outcome,
    PartUsed,
    Payer,
    Payment,
    QuoteLine,
    Shop,
    Stage,
    TimeEntry,
    WorkOrder,
)
from shopapp.queries.approvals import approved_option
from shopapp.queries.paging import Pager, pager_for
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of

# work that is done, though the test may still send it back
FINISHED_STAGES = (Stage.TEST, Stage.READY, Stage.GONE)


def billable_lines(work_order: WorkOrder) -> list[QuoteLine]:
    """Planned lines that may go on an invoice now, in the order of jobs and lines.

    Those the customer pays, of the approved option of each job whose work is done, unless an issued invoice
    bills them already. The price is fixed: the approved lines count, whatever was used.
    """
    jobs = Job.objects.filter(work_order=work_order).exclude(outcome=Outcome.DECLINED).order_by("position")
    finished = jobs.filter(Q(outcome=Outcome.DONE) | Q(stage__in=FINISHED_STAGES))
    return [line for job in finished for line in _unbilled_lines(job)]


def _unbilled_lines(job: Job) -> QuerySet[QuoteLine]:
    option = approved_option(job)
    if option is None:
        return QuoteLine.objects.none()
    lines = option.lines.filter(payer=Payer.CUSTOMER).order_by("position")
    return lines.exclude(invoice_lines__invoice__issued_at__isnull=False)


def last_work_day(shop: Shop, lines: Sequence[QuoteLine]) -> date | None:
    """The shop's day of the newest part, hour or fluid logged on the jobs of these lines; three queries."""
    jobs = {line.option.choice.job_id for line in _with_jobs(lines)}
    moments = [
        model._default_manager.filter(job_id__in=jobs).aggregate(newest=Max("happened_at"))["newest"]
        for model in (PartUsed, TimeEntry, FluidEntry)
    ]
    known = [moment for moment in moments if moment is not None]
    return local_day(shop, max(known)) if known else None


def _with_jobs(lines: Sequence[QuoteLine]) -> QuerySet[QuoteLine]:
    return QuoteLine.objects.filter(pk__in=[line.pk for line in lines]).select_related("option__choice")


def owed_minor(work_order: WorkOrder) -> int | None:
    """What is owed on the issued invoices of a work order; ``None`` when none was issued. Two queries."""
    issued = Invoice.objects.filter(work_order=work_order, issued_at__isnull=False)
    total: int | None = issued.aggregate(total=Sum("total_minor"))["total"]
    if total is None:
        return None
    paid = Payment.objects.filter(invoice__work_order=work_order).aggregate(paid=Sum("amount_minor"))["paid"]
    return total - (paid or 0)


def balance_minor(invoice: Invoice) -> int:
    """What is owed on one invoice."""
    paid: int | None = invoice.payments.aggregate(paid=Sum("amount_minor"))["paid"]
    return invoice.total_minor - (paid or 0)


@dataclass(frozen=True, kw_only=True)
class InvoiceState:
    """A state as colour, sign and word: the word alone is enough."""

    chip: str
    sign: str
    word: str


@dataclass(frozen=True, kw_only=True)
class InvoiceRow:
    """A row of the list, ready to show."""

    pk: int
    number: str
    customer: str
    boat: str
    issued: str
    total: str
    owed: str
    state: InvoiceState


@dataclass(frozen=True, kw_only=True)
class InvoiceList:
    """One page of the list."""

    rows: tuple[InvoiceRow, ...]
    is_open_only: bool
    owed_altogether: str
    pager: Pager


def invoice_list(*, is_open_only: bool, page: int, today: date) -> InvoiceList:
    """One page of invoices, drafts first, then newest first. Open ones are drafts and those with a balance.

    Four queries.
    """
    texts = texts_of(the_shop())
    paid = with_paid()
    shown = paid.filter(Q(issued_at=None) | Q(total_minor__gt=F("paid"))) if is_open_only else paid
    pager = pager_for(shown.count(), wanted=page)
    ordered = shown.order_by(F("issued_at").desc(nulls_first=True), "-pk")
    rows = ordered.select_related("customer", "work_order__vessel")[pager.start : pager.end]
    owed = paid.filter(issued_at__isnull=False).aggregate(owed=Sum(F("total_minor") - F("paid")))["owed"]
    return InvoiceList(
        rows=tuple(_row(invoice, texts=texts, today=today) for invoice in rows),
        is_open_only=is_open_only,
        owed_altogether=texts.money(owed or 0),
        pager=pager,
    )


def with_paid() -> "QuerySet[Invoice]":
    """Invoices, each with what came in for it as ``paid``."""
    payments = Payment.objects.filter(invoice=OuterRef("pk")).order_by().values("invoice")
    sums = payments.annotate(sum=Sum("amount_minor")).values("sum")
    return Invoice.objects.annotate(paid=Coalesce(Subquery(sums), 0))


def _row(invoice: Invoice, *, texts: ShopTexts, today: date) -> InvoiceRow:
    paid: int = invoice.paid  # type: ignore[attr-defined]  # annotated by with_paid
    is_issued = invoice.issued_at is not None
    return InvoiceRow(
        pk=invoice.pk,
        number=invoice.number or _("Draft"),
        customer=invoice.customer.name,
        boat=boat_of(invoice.work_order),
        issued=texts.day(invoice.issue_date),
        total=texts.money(invoice.total_minor),
        owed=texts.money(invoice.total_minor - paid) if is_issued else "–",
        state=state_of(invoice, paid=paid, today=today),
    )


def boat_of(work_order: WorkOrder) -> str:
    """The boat's name, or its make and model where it has none."""
    vessel = work_order.vessel
    return vessel.name or f"{vessel.make} {vessel.model}".strip() or _("Boat without a name")


def state_of(invoice: Invoice, *, paid: int, today: date) -> InvoiceState:
    """Where an invoice stands on that day."""
    if invoice.issued_at is None:
        return InvoiceState(chip="ink", sign="pen", word=_("Draft"))
    if paid >= invoice.total_minor:
        return InvoiceState(chip="moss", sign="tick", word=_("Paid"))
    if invoice.due_date is not None and invoice.due_date < today:
        return InvoiceState(chip="buoy", sign="cross", word=_("Overdue"))
    if paid:
        return InvoiceState(chip="deep", sign="plus", word=_("Partly paid"))
    return InvoiceState(chip="brass", sign="clock", word=_("To pay"))

"""What may be billed, what is owed, and the list of invoices."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, F, Max, Model, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

from shopapp.models import (
    DECLINED_OUTCOMES,
    Allocation,
    BilledSource,
    FluidEntry,
    Invoice,
    InvoiceKind,
    JobTest,
    Outcome,
    PartUsed,
    Payer,
    QuoteLine,
    Shop,
    TimeEntry,
    Way,
    WorkOrder,
)
from shopapp.queries.approvals import approved_answers
from shopapp.queries.paging import Pager, pager_for
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.vessels import boat_words

# what tells when somebody worked on a job
WORKED: tuple[tuple[type[Model], str], ...] = (
    (PartUsed, "happened_at"),
    (TimeEntry, "happened_at"),
    (FluidEntry, "happened_at"),
    (JobTest, "tested_at"),
)


def billable_lines(work_order: WorkOrder) -> list[QuoteLine]:
    """Planned lines that may go on an invoice now, in the order of jobs and lines. One query.

    The price is fixed: the approved lines count, whatever was used.
    """
    lines = unbilled_lines().filter(option__choice__job__work_order=work_order)
    ordered = lines.select_related("option__choice").order_by("option__choice__job__position", "position")
    return list(ordered)


def unbilled_lines() -> "QuerySet[QuoteLine]":
    """Lines the customer pays, of the approved option of each job that has ended, on no issued invoice yet.

    Of a declined job only "leave it" counts: who signs that may owe the diagnosis and the putting together.
    "Not now" and a declined quote name no option, so they bill nothing; nor does work that was agreed first
    and called off later.
    """
    is_done = Q(option__choice__job__outcome=Outcome.DONE)
    is_left = Q(option__choice__job__outcome__in=DECLINED_OUTCOMES, option__way=Way.LEAVE)
    in_force = approved_answers(OuterRef("option__choice__job")).values("option")[:1]
    billed = BilledSource.objects.filter(plan_line=OuterRef("pk"), line__invoice__issued_at__isnull=False)
    return QuoteLine.objects.filter(
        is_done | is_left,
        ~Exists(billed),
        option=Subquery(in_force),
        payer=Payer.CUSTOMER,
    )


def last_work_day(shop: Shop, lines: Sequence[QuoteLine]) -> date | None:
    """The shop's day of the newest part, hour, fluid or test on the jobs of these lines; five queries."""
    jobs = {line.option.choice.job_id for line in _with_jobs(lines)}
    moments = [
        model._default_manager.filter(job_id__in=jobs).aggregate(newest=Max(moment))["newest"]
        for model, moment in WORKED
    ]
    known = [moment for moment in moments if moment is not None]
    return local_day(shop, max(known)) if known else None


def _with_jobs(lines: Sequence[QuoteLine]) -> QuerySet[QuoteLine]:
    return QuoteLine.objects.filter(pk__in=[line.pk for line in lines]).select_related("option__choice")


def owed_minor(work_order: WorkOrder) -> int | None:
    """What is owed on the issued invoices of a work order; ``None`` when none was issued. Two queries."""
    issued = with_paid().filter(work_order=work_order, issued_at__isnull=False, kind=InvoiceKind.INVOICE)
    balances = [balance_of(one) for one in issued]
    return sum(balances) if balances else None


def balance_minor(invoice: Invoice) -> int:
    """What is owed on one invoice."""
    return balance_of(with_paid().get(pk=invoice.pk))


def balance_of(invoice: Invoice) -> int:
    """The same of an invoice fetched by ``with_paid``: total less payments, nothing once it is credited."""
    paid, credited = invoice.paid, invoice.credited  # type: ignore[attr-defined]  # annotated by with_paid
    return int(invoice.total_minor - paid - credited)


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
    """Invoices, each with what came in for it as ``paid`` and what was taken back of it as ``credited``."""
    rows = Allocation.objects.filter(invoice=OuterRef("pk")).order_by().values("invoice")
    sums = rows.annotate(sum=Sum("amount_minor")).values("sum")
    credit = Invoice.objects.filter(credits=OuterRef("pk"), issued_at__isnull=False).values("total_minor")
    return Invoice.objects.annotate(paid=Coalesce(Subquery(sums), 0), credited=Coalesce(Subquery(credit), 0))


def _row(invoice: Invoice, *, texts: ShopTexts, today: date) -> InvoiceRow:
    paid: int = invoice.paid  # type: ignore[attr-defined]  # annotated by with_paid
    is_issued = invoice.issued_at is not None
    return InvoiceRow(
        pk=invoice.pk,
        number=invoice.number or _("Draft"),
        customer=buyer_words(invoice),
        boat=boat_words(invoice.work_order.vessel) if invoice.work_order is not None else "",
        issued=texts.day(invoice.issue_date),
        total=texts.money(invoice.total_minor),
        owed=texts.money(invoice.total_minor - paid) if is_issued else "–",
        state=state_of(invoice, paid=paid, today=today),
    )


def buyer_words(invoice: Invoice) -> str:
    """Who the invoice is for; a sale over the counter may name nobody."""
    return invoice.customer.name if invoice.customer is not None else _("Sale over the counter")


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

"""What may be billed, what is owed, and the list of invoices."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import (
    BooleanField,
    Exists,
    ExpressionWrapper,
    F,
    Max,
    Model,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
)
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

from shopapp.models import (
    DECLINED_OUTCOMES,
    Allocation,
    Decision,
    FeeEntry,
    FluidEntry,
    Intake,
    Invoice,
    InvoiceKind,
    InvoiceLine,
    Job,
    JobTest,
    LineOrigin,
    Outcome,
    PartInVisit,
    PartUsed,
    Payer,
    PriceKind,
    QuoteLine,
    Shop,
    SubletEntry,
    TimeEntry,
    TimeKind,
    VisitPerson,
    Way,
    WorkOrder,
)
from shopapp.queries.approvals import approved_answers
from shopapp.queries.bill_books import unclaimed
from shopapp.queries.over_agreed import held_back
from shopapp.queries.paging import Pager, pager_for
from shopapp.queries.proposals import Proposal, proposals
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.vessels import boat_words
from shopapp.queries.visit_books import books_of

# what tells when somebody worked on a job
WORKED: tuple[tuple[type[Model], str], ...] = (
    (PartUsed, "happened_at"),
    (TimeEntry, "happened_at"),
    (FluidEntry, "happened_at"),
    (SubletEntry, "happened_at"),
    (FeeEntry, "happened_at"),
    (JobTest, "tested_at"),
)
# the books whose rows may be billed by themselves
BOOKS: tuple[tuple[str, type[Model]], ...] = (
    ("part_used", PartUsed),
    ("time_entry", TimeEntry),
    ("fluid_entry", FluidEntry),
    ("sublet_entry", SubletEntry),
    ("fee_entry", FeeEntry),
)


def billable_lines(work_order: WorkOrder) -> tuple[Proposal, ...]:
    """All that may be billed on a visit now, in the order of jobs: see ``queries.proposals``."""
    books = books_of(work_order)
    return proposals(work_order, held=held_back(work_order, books=books), books=books).lines


def unbilled_lines() -> "QuerySet[QuoteLine]":
    """Agreed lines that the customer pays and no bill has, of jobs that ended with a fixed price.

    A declined job counts where leaving it has a price. "Not now" and a declined quote name no option, so
    they bill nothing of a plan. Supplements add to the main offer.
    """
    in_force = approved_answers(OuterRef("option__choice__job")).values("option")[:1]
    is_owed = Q(option__choice__job__outcome=Outcome.DONE) | Q(
        option__way=Way.LEAVE, option__choice__job__outcome__in=DECLINED_OUTCOMES
    )
    return QuoteLine.objects.filter(
        is_owed,
        unclaimed("plan_line"),
        Q(option=Subquery(in_force))
        | Q(
            option__choice__revision__quote__is_supplement=True,
            option__answers__approval__decision=Decision.APPROVED,
        ),
        option__choice__job__price_kind=PriceKind.FIXED,
        payer=Payer.CUSTOMER,
    ).distinct()


def has_unbilled_rows(work_order: WorkOrder) -> bool:
    """Whether logged rows of ended jobs, or the diagnosis fee, may wait for a bill; one query."""
    ended = Job.objects.filter(work_order=work_order).exclude(outcome=Outcome.OPEN)
    return with_unbilled(ended).filter(Q(is_unbilled=True)).exists()


def with_unbilled(jobs: "QuerySet[Job]") -> "QuerySet[Job]":
    """The jobs, each with ``is_unbilled``: once it has ended, its rows (or the fee) may wait for a bill.

    Rows that are held back since nobody agreed to them, or priced them, count here: whoever drafts is told
    of them. Hours of diagnosis are inside the fee where one was agreed.
    """
    terms = Intake.objects.filter(work_order=OuterRef("work_order"), signed_at__isnull=False)
    fee = terms.order_by("-signed_at", "-pk").values("diagnosis_fee_minor")[:1]
    found = _unbilled_rows() | (Q(fee__gt=0) & ~Exists(_billed_fees()))
    with_fee = jobs.annotate(fee=Coalesce(Subquery(fee), 0))
    return with_fee.annotate(is_unbilled=ExpressionWrapper(found, output_field=BooleanField()))


def _unbilled_rows() -> Q:
    """Inside a query over jobs that know their ``fee``: they have such rows."""
    done_at_a_price = Q(outcome=Outcome.DONE, price_kind=PriceKind.FIXED) & Exists(
        approved_answers(OuterRef("pk"))
    )
    in_the_fee = Q(kind=TimeKind.DIAGNOSIS, plan_line=None)
    by_owner, logged = Q(), Q()
    for name, model in BOOKS:
        rows = model._default_manager.filter(
            unclaimed(name), job=OuterRef("pk"), payer=Payer.CUSTOMER, struck_at__isnull=True
        )
        if model is FluidEntry:
            rows = rows.filter(filled_ml__gt=0)
        if model is TimeEntry:
            logged |= Q(Exists(rows.filter(in_the_fee)), fee=0)
            rows = rows.exclude(in_the_fee)
        by_owner |= Q(Exists(rows.filter(override_by__isnull=False)))
        logged |= Q(Exists(rows))
    return by_owner | (~done_at_a_price & logged)


def _billed_fees() -> "QuerySet[InvoiceLine]":
    """Inside a query over jobs: the diagnosis fee of their visit on bills that stand."""
    return InvoiceLine.objects.filter(
        invoice__work_order=OuterRef("work_order"),
        invoice__kind=InvoiceKind.INVOICE,
        invoice__issued_at__isnull=False,
        invoice__credit_note__isnull=True,
        origin=LineOrigin.DIAGNOSIS_FEE,
    )


def last_work_day(shop: Shop, job_pks: Collection[int]) -> date | None:
    """The shop's day of the newest part, hour, fluid, test or other row on these jobs; six queries."""
    moments = [_newest(model, moment, job_pks=job_pks) for model, moment in WORKED]
    known = [moment for moment in moments if moment is not None]
    return local_day(shop, max(known)) if known else None


def _newest(model: type[Model], moment: str, *, job_pks: Collection[int]) -> datetime | None:
    rows = model._default_manager.filter(job_id__in=job_pks)
    if model is not JobTest:
        rows = rows.filter(struck_at__isnull=True)
    newest: datetime | None = rows.aggregate(newest=Max(moment))["newest"]
    return newest


def payer_of(work_order: WorkOrder) -> int:
    """Id of the customer who gets the bill: who pays the visit, else its owner. One query."""
    payer = VisitPerson.objects.filter(work_order=work_order, part=PartInVisit.PAYER)
    return payer.values_list("customer_id", flat=True).first() or work_order.customer_id


def owed_minor(work_order: WorkOrder) -> int | None:
    """What is owed on the issued invoices of a work order; ``None`` when none was issued. Two queries."""
    issued = with_paid().filter(work_order=work_order, issued_at__isnull=False, kind=InvoiceKind.INVOICE)
    balances = [balance_of(one) for one in issued]
    return sum(balances) if balances else None


def balance_minor(invoice: Invoice) -> int:
    """What is owed on one invoice."""
    return balance_of(with_paid().get(pk=invoice.pk))


def balance_of(invoice: Invoice) -> int:
    """The same of a row fetched by ``with_paid``: total less payments; nothing once credited.

    A credit note itself is never owed: it takes an invoice back whole.
    """
    if invoice.kind == InvoiceKind.CREDIT_NOTE:
        return 0
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
    owing = Q(kind=InvoiceKind.INVOICE, issued_at__isnull=False, total_minor__gt=F("paid") + F("credited"))
    paid = with_paid()
    shown = paid.filter(Q(issued_at=None) | owing) if is_open_only else paid
    pager = pager_for(shown.count(), wanted=page)
    ordered = shown.order_by(F("issued_at").desc(nulls_first=True), "-pk")
    rows = ordered.select_related("customer", "work_order__vessel")[pager.start : pager.end]
    owed = paid.filter(owing).aggregate(owed=Sum(F("total_minor") - F("paid") - F("credited")))["owed"]
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
    is_owed_by_somebody = invoice.issued_at is not None and invoice.kind == InvoiceKind.INVOICE
    return InvoiceRow(
        pk=invoice.pk,
        number=invoice.number or _("Draft"),
        customer=buyer_words(invoice),
        boat=boat_words(invoice.work_order.vessel) if invoice.work_order is not None else "",
        issued=texts.day(invoice.issue_date),
        total=texts.money(signed_minor(invoice)),
        owed=texts.money(balance_of(invoice)) if is_owed_by_somebody else "–",
        state=state_of(invoice, paid=invoice.paid, today=today),  # type: ignore[attr-defined]  # annotated by with_paid
    )


def signed_minor(invoice: Invoice) -> int:
    """The total as it counts in a list: a credit note counts the other way."""
    return -invoice.total_minor if invoice.kind == InvoiceKind.CREDIT_NOTE else invoice.total_minor


def buyer_words(invoice: Invoice) -> str:
    """Who the invoice is for; a sale over the counter may name nobody."""
    return invoice.customer.name if invoice.customer is not None else _("Sale over the counter")


def state_of(invoice: Invoice, *, paid: int, today: date) -> InvoiceState:
    """Where an invoice stands on that day; the row was fetched by ``with_paid``."""
    if invoice.issued_at is None:
        return InvoiceState(chip="ink", sign="pen", word=_("Draft"))
    if invoice.kind == InvoiceKind.CREDIT_NOTE:
        return InvoiceState(chip="ink", sign="arrow-left", word=_("Credit note"))
    if getattr(invoice, "credited", 0):
        return InvoiceState(chip="ink", sign="arrow-left", word=_("Credited"))
    return _state_of_open(invoice, paid=paid, today=today)


def _state_of_open(invoice: Invoice, *, paid: int, today: date) -> InvoiceState:
    if paid >= invoice.total_minor:
        return InvoiceState(chip="moss", sign="tick", word=_("Paid"))
    if invoice.due_date is not None and invoice.due_date < today:
        return InvoiceState(chip="buoy", sign="cross", word=_("Overdue"))
    if paid:
        return InvoiceState(chip="deep", sign="plus", word=_("Partly paid"))
    return InvoiceState(chip="brass", sign="clock", word=_("To pay"))

"""The page of one invoice: its lines by job, its tax, and what was paid."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from shopapp.models import Invoice, InvoiceKind, InvoiceLine, PartCondition, Payer, PaymentMethod
from shopapp.queries.deposits import deposit_minor
from shopapp.queries.invoices import InvoiceState, balance_of, buyer_words, state_of, with_paid
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class LineRow:
    """A billed line, ready to show; ``origin`` says where it comes from, ``pk`` leads to its form."""

    pk: int
    origin: str
    description: str
    condition: str
    note: str
    number: str
    quantity: str
    unit_price: str
    discount: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class LineGroup:
    """The lines of one job."""

    title: str
    lines: tuple[LineRow, ...]


@dataclass(frozen=True, kw_only=True)
class TaxText:
    """A row of the tax breakdown, ready to show."""

    name: str
    tax: str


@dataclass(frozen=True, kw_only=True)
class PaymentRow:
    """What pays an invoice, ready to show; the payment's number is that of its receipt."""

    pk: int
    number: str
    day: str
    method: str
    taken_by: str
    note: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class DocumentLink:
    """Another invoice or credit note by its number."""

    pk: int
    number: str


@dataclass(frozen=True, kw_only=True)
class InvoicePage:
    """One invoice with its lines, tax and payments."""

    pk: int
    number: str
    version: int
    is_issued: bool
    is_credit_note: bool
    is_edited: bool
    may_be_credited: bool
    credits: DocumentLink | None
    credited_by: DocumentLink | None
    reason: str
    purchase_order: str
    discount: str
    discount_words: str
    over: str
    deposit: str
    state: InvoiceState
    customer: str
    boat: str
    work_order_pk: int | None
    work_order: str
    issued: str
    tax_date: str
    due: str
    groups: tuple[LineGroup, ...]
    without_tax: str
    taxes: tuple[TaxText, ...]
    total: str
    payments: tuple[PaymentRow, ...]
    paid: str
    owed: str
    balance: str
    may_be_paid: bool


def invoice_page(pk: int, *, today: date) -> InvoicePage | None:
    """The page of an invoice, a credit note or a draft, or ``None`` when there is none.

    Five queries, one more for a draft: what was paid on the visit comes off when it is issued.
    """
    invoice = (
        with_paid()
        .select_related("customer", "work_order__vessel", "credits", "credit_note", "over_by")
        .prefetch_related("taxes")
        .filter(pk=pk)
        .first()
    )
    if invoice is None:
        return None
    texts = texts_of(the_shop())
    return InvoicePage(
        **_facts(invoice, texts=texts, today=today),
        **_papers(invoice),
        deposit=_deposit(invoice, texts=texts),
        groups=_groups(invoice, texts=texts),
        taxes=_tax_texts(invoice, texts=texts),
        payments=_payment_rows(invoice, texts=texts),
    )


def _facts(invoice: Invoice, *, texts: ShopTexts, today: date) -> dict[str, Any]:
    paid: int = invoice.paid  # type: ignore[attr-defined]  # annotated by with_paid
    balance, visit = balance_of(invoice), invoice.work_order
    is_issued = invoice.issued_at is not None
    return {
        "pk": invoice.pk,
        "number": invoice.number or _("Draft"),
        "version": invoice.version,
        "is_issued": is_issued,
        "is_edited": not is_issued and invoice.version > 1,
        "state": state_of(invoice, paid=paid, today=today),
        "customer": buyer_words(invoice),
        "boat": boat_words(visit.vessel) if visit is not None else "",
        "work_order_pk": invoice.work_order_id,
        "work_order": visit.number if visit is not None else "",
        "purchase_order": invoice.purchase_order,
        "discount": texts.money(-invoice.discount_minor) if invoice.discount_minor else "",
        "discount_words": _discount_words(invoice, texts=texts),
        "over": f"{invoice.over_by.name}: {invoice.over_reason}" if invoice.over_by is not None else "",
        "issued": texts.day(invoice.issue_date),
        "tax_date": texts.day(invoice.tax_date),
        "due": texts.day(invoice.due_date),
        "without_tax": texts.money(invoice.without_tax_minor),
        "total": texts.money(invoice.total_minor),
        "paid": texts.money(paid),
        "owed": texts.money(balance),
        "balance": texts.coins(balance),
        "may_be_paid": is_issued and balance > 0,
    }


def _papers(invoice: Invoice) -> dict[str, Any]:
    """What the document takes back, and what takes it back."""
    is_credit_note = invoice.kind == InvoiceKind.CREDIT_NOTE
    credit_note = getattr(invoice, "credit_note", None)
    return {
        "is_credit_note": is_credit_note,
        "may_be_credited": invoice.issued_at is not None and not is_credit_note and credit_note is None,
        "credits": _link(invoice.credits),
        "credited_by": _link(credit_note),
        "reason": invoice.credit_reason,
    }


def _deposit(invoice: Invoice, *, texts: ShopTexts) -> str:
    """What was paid on the visit of a draft and pays nothing yet."""
    if invoice.issued_at is not None or invoice.work_order is None:
        return ""
    minor = deposit_minor(invoice.work_order)
    return texts.money(minor) if minor else ""


def _link(invoice: Invoice | None) -> DocumentLink | None:
    return DocumentLink(pk=invoice.pk, number=invoice.number or "") if invoice is not None else None


def _discount_words(invoice: Invoice, *, texts: ShopTexts) -> str:
    if not invoice.discount_e4:
        return ""
    share = texts.percent(invoice.discount_e4 * 100)
    return _("%(share)s off: %(reason)s") % {"share": share, "reason": invoice.discount_reason}


def lines_with_jobs(invoice: Invoice) -> "QuerySet[InvoiceLine]":
    """The lines in their order, each with the job and the agreed option that it bills; one query."""
    rows = invoice.lines.select_related("plan_line__option", "job__engine", "tax_code")
    return rows.defer("plan_line__unit_cost_e4").order_by("position")


def _groups(invoice: Invoice, *, texts: ShopTexts) -> tuple[LineGroup, ...]:
    by_job = groupby(lines_with_jobs(invoice), key=lambda line: line.job_id)
    groups = ((list(lines)) for _key, lines in by_job)
    return tuple(
        LineGroup(title=_title(lines), lines=tuple(line_row(line, texts=texts) for line in lines))
        for lines in groups
    )


def _title(lines: Sequence[InvoiceLine]) -> str:
    """What a job is called: the option that was agreed, else its number and complaint."""
    agreed = next((line.plan_line.option.title for line in lines if line.plan_line is not None), "")
    job = lines[0].job
    if agreed or job is None:
        return agreed
    return _("Job %(position)s: %(complaint)s") % {"position": job.position, "complaint": job.complaint[:80]}


def condition_words(line: InvoiceLine) -> str:
    """What a part is, where it is not simply new."""
    return "" if line.condition == PartCondition.NEW else str(PartCondition(line.condition).label)


def note_words(line: InvoiceLine) -> str:
    """Why a line stands as it does: a gift of the shop says so."""
    if line.payer == Payer.CUSTOMER:
        return line.note
    goodwill = _("Goodwill, not charged")
    return f"{goodwill}: {line.note}" if line.note else goodwill


def line_row(line: InvoiceLine, *, texts: ShopTexts) -> LineRow:
    """A billed line as text."""
    discount = _("less %(share)s") % {"share": texts.percent(line.discount_e4 * 100)}
    return LineRow(
        pk=line.pk,
        origin=line.origin,
        description=line.description,
        condition=condition_words(line),
        note=note_words(line),
        number=line.number,
        quantity=texts.quantity(line.quantity_milli, line.unit),
        unit_price=texts.price(line.unit_price_e4),
        discount=discount if line.discount_e4 else "",
        amount=texts.money(line.amount_minor),
    )


def _tax_texts(invoice: Invoice, *, texts: ShopTexts) -> tuple[TaxText, ...]:
    return tuple(
        TaxText(
            name=tax.exemption_reason or f"{tax.name} {texts.percent(tax.rate_e6)}".strip(),
            tax=texts.money(tax.tax_minor),
        )
        for tax in sorted(invoice.taxes.all(), key=lambda tax: tax.pk)
    )


def _payment_rows(invoice: Invoice, *, texts: ShopTexts) -> tuple[PaymentRow, ...]:
    """What pays the invoice; money given free again shows below nil."""
    rows = invoice.allocations.select_related("payment__taken_by").order_by("allocated_at", "pk")
    return tuple(
        PaymentRow(
            pk=row.payment_id,
            number=row.payment.number or "",
            # a deposit came in before the bill that it pays
            day=texts.day_of(row.payment.received_at if row.amount_minor > 0 else row.allocated_at),
            method=str(PaymentMethod(row.payment.method).label),
            taken_by=row.payment.taken_by.name,
            note=row.payment.note,
            amount=texts.money(row.amount_minor),
        )
        for row in rows
    )

"""The page of one invoice: its lines by job, its tax, and what was paid."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from shopapp.models import Invoice, InvoiceLine, PaymentMethod, QuoteOption
from shopapp.queries.invoices import InvoiceState, buyer_words, state_of, with_paid
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class LineRow:
    """A billed line, ready to show."""

    description: str
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
    """A payment, ready to show."""

    day: str
    method: str
    taken_by: str
    note: str
    amount: str


@dataclass(frozen=True, kw_only=True)
class InvoicePage:
    """One invoice with its lines, tax and payments."""

    pk: int
    number: str
    is_issued: bool
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
    """The page of an invoice or a draft, or ``None`` when there is none; five queries."""
    invoice = (
        with_paid()
        .select_related("customer", "work_order__vessel")
        .prefetch_related("taxes")
        .filter(pk=pk)
        .first()
    )
    if invoice is None:
        return None
    texts, visit = texts_of(the_shop()), invoice.work_order
    paid: int = invoice.paid  # type: ignore[attr-defined]  # annotated by with_paid
    balance = invoice.total_minor - paid
    return InvoicePage(
        pk=invoice.pk,
        number=invoice.number or _("Draft"),
        is_issued=invoice.issued_at is not None,
        state=state_of(invoice, paid=paid, today=today),
        customer=buyer_words(invoice),
        boat=boat_words(visit.vessel) if visit is not None else "",
        work_order_pk=invoice.work_order_id,
        work_order=visit.number if visit is not None else "",
        issued=texts.day(invoice.issue_date),
        tax_date=texts.day(invoice.tax_date),
        due=texts.day(invoice.due_date),
        groups=_groups(invoice, texts=texts),
        without_tax=texts.money(invoice.without_tax_minor),
        taxes=_tax_texts(invoice, texts=texts),
        total=texts.money(invoice.total_minor),
        payments=_payment_rows(invoice, texts=texts),
        paid=texts.money(paid),
        owed=texts.money(balance),
        balance=texts.coins(balance),
        may_be_paid=invoice.issued_at is not None and balance > 0,
    )


def lines_with_jobs(invoice: Invoice) -> "QuerySet[InvoiceLine]":
    """The lines in their order, each with the option and the job that it bills; one query."""
    return invoice.lines.select_related("plan_line__option__choice__job__engine", "tax_code").order_by(
        "position"
    )


def _groups(invoice: Invoice, *, texts: ShopTexts) -> tuple[LineGroup, ...]:
    by_option = groupby(lines_with_jobs(invoice), key=option_of)
    return tuple(
        LineGroup(
            title=option.title if option is not None else "",
            lines=tuple(line_row(line, texts=texts) for line in lines),
        )
        for option, lines in by_option
    )


def option_of(line: InvoiceLine) -> QuoteOption | None:
    """The approved option that a line bills."""
    return line.plan_line.option if line.plan_line is not None else None


def line_row(line: InvoiceLine, *, texts: ShopTexts) -> LineRow:
    """A billed line as text."""
    discount = _("less %(share)s") % {"share": texts.percent(line.discount_e4 * 100)}
    return LineRow(
        description=line.description,
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
    payments = invoice.payments.select_related("taken_by").order_by("received_at", "pk")
    return tuple(
        PaymentRow(
            day=texts.day_of(payment.received_at),
            method=str(PaymentMethod(payment.method).label),
            taken_by=payment.taken_by.name,
            note=payment.note,
            amount=texts.money(payment.amount_minor),
        )
        for payment in payments
    )

"""Draws up invoices from what was approved and done, and issues them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from operator import attrgetter

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.numbering import take_number
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.stages import lock_work_order
from shopapp.calc.money import to_minor
from shopapp.calc.totals import TaxRow, document_totals
from shopapp.documents.canonical import canonical, digest
from shopapp.models import (
    BilledSource,
    Customer,
    Invoice,
    InvoiceLine,
    InvoiceTax,
    Person,
    QuoteLine,
    WorkOrder,
)
from shopapp.queries.invoice_papers import invoice_content
from shopapp.queries.invoices import billable_lines, last_work_day
from shopapp.queries.shop import local_day, rules_of, the_shop, treatments_at

COPIED = (
    "kind",
    "number",
    "description",
    "quantity_milli",
    "unit",
    "unit_price_e4",
    "discount_e4",
    "tax_code_id",
    "payer",
    "condition",
)
SUMS = ("without_tax_minor", "tax_minor", "total_minor")
TAX_FACTS = ("name", "category", "rate_e6", "taxable_minor", "tax_minor", "exemption_reason")


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What an invoice comes to: rows that are not saved yet, and the sums in the smallest coin."""

    lines: tuple[InvoiceLine, ...]
    taxes: tuple[InvoiceTax, ...]
    without_tax_minor: int
    tax_minor: int
    total_minor: int


@transaction.atomic
def draft_invoice(work_order_pk: int, *, by: Actor) -> Invoice:
    """The draft of what may be billed on a work order now, worked out as issuing it now would.

    Locks the work order, then its draft, the customer, and last the chain head. A second sender gets the
    same draft; when more work was finished since, or the tax is another, the draft takes it up. A planned
    line is billed once (a constraint holds it). If the power fails before the commit there is no draft (or
    the one before); after it, there is a whole one. Raises Refused when there is nothing to bill.
    """
    work_order = lock_work_order(work_order_pk)
    require_desk(by)
    lines = billable_lines(work_order)
    if not lines:
        raise Refused(_("There is nothing to bill: no approved work is finished, or all of it is billed."))
    draft = Invoice.objects.select_for_update().filter(work_order=work_order, issued_at=None).first()
    # before a draft is created: a new row holds its customer's too, and two drafts would block each other
    customer = _lock_customer(work_order.customer_id)
    figures = _figures(lines, customer=customer, tax_date=_tax_date(lines, by=by))
    if draft is not None and _has(draft, figures=figures):
        return draft
    if draft is None:
        draft = Invoice.objects.create(work_order=work_order, customer=customer, created_at=by.at)
    _write(draft, figures=figures)
    entry = Entry(verb="draft invoice", record=draft, facts=_sums(draft), work_order=work_order)
    activity.record([entry], by=by)
    return draft


@transaction.atomic
def issue_invoice(invoice_pk: int, *, by: Actor) -> Invoice:
    """Give the draft its number and days, and freeze it with what is printed.

    Locks the work order, the invoice, the customer, the number series, then the chain head. A second sender
    gets the issued invoice. Whatever fails before the commit (full disk, kill, power cut) leaves the draft
    as it was and the number free; after it the invoice stands for ever. Tax is that of the last day of
    work. Raises Refused, and changes nothing, when what is finished or what it comes to is no longer what
    the draft says: drafting again brings it up to date.
    """
    work_order = lock_visit(invoice_pk)
    invoice = Invoice.objects.select_for_update().get(pk=invoice_pk)
    require_desk(by)
    if invoice.issued_at is not None:
        return invoice
    # one read for sums and paper: nobody can make this customer exempt between the two
    invoice.customer = _lock_customer(invoice.customer_id)
    lines = billable_lines(work_order)
    tax_date = _tax_date(lines, by=by)
    _require_unchanged(invoice, lines=lines, tax_date=tax_date)
    _freeze(invoice, tax_date=tax_date, by=by)
    search_texts.index(invoice)
    facts = _sums(invoice) | {"number": invoice.number, "shown_sha256": invoice.shown_sha256}
    entry = Entry(verb="issue invoice", record=invoice, facts=facts, work_order=work_order)
    activity.record([entry], by=by)
    return invoice


def lock_visit(invoice_pk: int) -> WorkOrder:
    """The work order of an invoice, locked: every action on a visit takes this lock first."""
    return lock_work_order(Invoice.objects.values_list("work_order_id", flat=True).get(pk=invoice_pk))


def require_desk(by: Actor) -> Person:
    """The person at the desk: invoices and payments are theirs. Raises NotAllowed."""
    if by.person is None or not access.may_use_desk(by.person):
        raise NotAllowed(_("Only the front desk and the owner may work with invoices."))
    return by.person


def _lock_customer(pk: int | None) -> Customer | None:
    return locked(Customer.objects.filter(pk=pk)).get() if pk is not None else None


def _tax_date(lines: Sequence[QuoteLine], *, by: Actor) -> date:
    shop = the_shop()
    return last_work_day(shop, lines) or local_day(shop, by.at)


def _require_unchanged(draft: Invoice, *, lines: Sequence[QuoteLine], tax_date: date) -> None:
    drafted = list(draft.lines.order_by("position").values_list("plan_line_id", flat=True))
    if not lines or drafted != [line.pk for line in lines]:
        raise Refused(_("What is finished has changed since this draft was made. Draft the invoice again."))
    if not _has(draft, figures=_figures(lines, customer=draft.customer, tax_date=tax_date)):
        raise Refused(
            _(
                "The sums have changed since the draft was made; look at it again. "
                "The button “Work it out again” brings the draft up to date."
            )
        )


def _freeze(invoice: Invoice, *, tax_date: date, by: Actor) -> None:
    shop = the_shop()
    issue_date = local_day(shop, by.at)
    invoice.issued_at, invoice.issue_date, invoice.tax_date = by.at, issue_date, tax_date
    invoice.due_date = issue_date + timedelta(days=shop.payment_days)
    invoice.number = take_number("invoice")
    invoice.shown = canonical(invoice_content(invoice))
    invoice.shown_sha256 = digest(invoice.shown)
    invoice.save()


def _figures(lines: Sequence[QuoteLine], *, customer: Customer | None, tax_date: date) -> Figures:
    """What these planned lines come to for this customer on that day."""
    shop = the_shop()
    rows = [_copy(line, position=place) for place, line in enumerate(lines, start=1)]
    treatments = treatments_at(tax_date, customer=customer)
    totals = document_totals([row.as_line(treatments) for row in rows], rules=rules_of(shop))
    for row, amount in zip(rows, totals.line_amounts, strict=True):
        row.amount_minor = to_minor(amount, currency=shop.currency)
    return Figures(
        lines=tuple(rows),
        taxes=tuple(_tax(row, currency=shop.currency) for row in totals.tax_rows),
        without_tax_minor=to_minor(totals.without_tax, currency=shop.currency),
        tax_minor=to_minor(totals.tax, currency=shop.currency),
        total_minor=to_minor(totals.with_tax, currency=shop.currency),
    )


def _has(draft: Invoice, *, figures: Figures) -> bool:
    """Whether the draft shows exactly these lines, amounts, taxes and sums."""
    lines = draft.lines.order_by("position").values_list("plan_line_id", "amount_minor")
    taxes = draft.taxes.order_by("pk").values_list(*TAX_FACTS)
    return (
        list(lines) == [(row.plan_line_id, row.amount_minor) for row in figures.lines]
        and list(taxes) == [attrgetter(*TAX_FACTS)(row) for row in figures.taxes]
        and attrgetter(*SUMS)(draft) == attrgetter(*SUMS)(figures)
    )


def _write(draft: Invoice, *, figures: Figures) -> None:
    """Write the lines, tax rows and sums anew."""
    for line in figures.lines:
        line.invoice = draft
    for tax in figures.taxes:
        tax.invoice = draft
    draft.lines.all().delete()
    InvoiceLine.objects.bulk_create(figures.lines)
    BilledSource.objects.bulk_create(
        [BilledSource(line=line, plan_line_id=line.plan_line_id) for line in figures.lines]
    )
    draft.taxes.all().delete()
    InvoiceTax.objects.bulk_create(figures.taxes)
    draft.without_tax_minor, draft.tax_minor, draft.total_minor = attrgetter(*SUMS)(figures)
    draft.save(update_fields=SUMS)


def _copy(line: QuoteLine, *, position: int) -> InvoiceLine:
    copied = {name: getattr(line, name) for name in COPIED}
    return InvoiceLine(plan_line=line, job_id=line.option.choice.job_id, position=position, **copied)


def _tax(row: TaxRow, *, currency: str) -> InvoiceTax:
    longest = InvoiceTax._meta.get_field("exemption_reason").max_length
    return InvoiceTax(
        name=row.component_name,
        category=row.category,
        rate_e6=int(row.rate * 1_000_000),
        taxable_minor=to_minor(row.taxable, currency=currency),
        tax_minor=to_minor(row.tax, currency=currency),
        exemption_reason=row.exemption_reason[:longest],
    )


def _sums(invoice: Invoice) -> dict[str, str | int | bool | None]:
    return {"without_tax_minor": invoice.without_tax_minor, "total_minor": invoice.total_minor}

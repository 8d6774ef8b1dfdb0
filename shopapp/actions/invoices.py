"""Draws up invoices from what was approved and done, and issues them."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.numbering import take_number
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.stages import lock_work_order
from shopapp.calc.money import to_minor
from shopapp.calc.totals import TaxRow, Totals, document_totals
from shopapp.documents.canonical import canonical, digest
from shopapp.models import Customer, Invoice, InvoiceLine, InvoiceTax, Person, QuoteLine, WorkOrder
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
)


@transaction.atomic
def draft_invoice(work_order_pk: int, *, by: Actor) -> Invoice:
    """The draft of what may be billed on a work order now; its sums are a preview with today's tax.

    Locks the work order, then its draft, then the chain head. A second sender gets the same draft; when more
    work was finished since, the draft takes it up. A planned line is billed once (a constraint holds it).
    If the power fails before the commit there is no draft; after it, there is a whole one. Raises Refused
    when there is nothing to bill.
    """
    work_order = lock_work_order(work_order_pk)
    require_desk(by)
    lines = billable_lines(work_order)
    if not lines:
        raise Refused(_("There is nothing to bill: no approved work is finished, or all of it is billed."))
    draft = Invoice.objects.select_for_update().filter(work_order=work_order, issued_at=None).first()
    if draft is not None and _bills(draft, lines=lines):
        return draft
    if draft is None:
        draft = Invoice.objects.create(
            work_order=work_order, customer_id=work_order.customer_id, created_at=by.at
        )
    _write_figures(draft, lines=lines, tax_date=local_day(the_shop(), by.at))
    draft.save(update_fields=["without_tax_minor", "tax_minor", "total_minor"])
    entry = Entry(verb="draft invoice", record=draft, facts=_sums(draft), work_order=work_order)
    activity.record([entry], by=by)
    return draft


@transaction.atomic
def issue_invoice(invoice_pk: int, *, by: Actor) -> Invoice:
    """Give the draft its number, days and final sums, and freeze what is printed.

    Locks the work order, the invoice, the number series, then the chain head. A second sender gets the issued
    invoice. Whatever fails before the commit (full disk, kill, power cut) leaves the draft as it was and
    the number free; after it the invoice stands for ever. Tax is that of the last day of work. Raises
    Refused when what is finished is no longer what the draft says.
    """
    work_order = lock_visit(invoice_pk)
    invoice = Invoice.objects.select_for_update().get(pk=invoice_pk)
    require_desk(by)
    if invoice.issued_at is not None:
        return invoice
    lines = billable_lines(work_order)
    if not _bills(invoice, lines=lines):
        raise Refused(_("What is finished has changed since this draft was made. Draft the invoice again."))
    _freeze(invoice, lines=lines, by=by)
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


def _freeze(invoice: Invoice, *, lines: Sequence[QuoteLine], by: Actor) -> None:
    shop = the_shop()
    issue_date = local_day(shop, by.at)
    invoice.issued_at, invoice.issue_date = by.at, issue_date
    invoice.tax_date = last_work_day(shop, lines) or issue_date
    invoice.due_date = issue_date + timedelta(days=shop.payment_days)
    # lines and taxes first: once the invoice is issued, triggers refuse to touch them
    _write_figures(invoice, lines=lines, tax_date=invoice.tax_date)
    invoice.number = take_number("invoice")
    invoice.shown = canonical(invoice_content(invoice))
    invoice.shown_sha256 = digest(invoice.shown)
    invoice.save()


def _bills(draft: Invoice, *, lines: Sequence[QuoteLine]) -> bool:
    """Whether the draft has exactly these planned lines, in this order."""
    drafted = list(draft.lines.order_by("position").values_list("plan_line_id", flat=True))
    return bool(lines) and drafted == [line.pk for line in lines]


def _write_figures(invoice: Invoice, *, lines: Sequence[QuoteLine], tax_date: date) -> None:
    """Write the lines, amounts and tax rows anew, and set the sums on the invoice without saving it."""
    shop = the_shop()
    customer = Customer.objects.get(pk=invoice.customer_id)
    rows = [_copy(line, invoice=invoice, position=place) for place, line in enumerate(lines, start=1)]
    treatments = treatments_at(tax_date, customer=customer)
    totals = document_totals([row.as_line(treatments) for row in rows], rules=rules_of(shop))
    for row, amount in zip(rows, totals.line_amounts, strict=True):
        row.amount_minor = to_minor(amount, currency=shop.currency)
    invoice.lines.all().delete()
    InvoiceLine.objects.bulk_create(rows)
    invoice.taxes.all().delete()
    InvoiceTax.objects.bulk_create(
        [_tax(row, invoice=invoice, currency=shop.currency) for row in totals.tax_rows]
    )
    _set_sums(invoice, totals=totals, currency=shop.currency)


def _copy(line: QuoteLine, *, invoice: Invoice, position: int) -> InvoiceLine:
    copied = {name: getattr(line, name) for name in COPIED}
    return InvoiceLine(invoice=invoice, plan_line=line, position=position, **copied)


def _tax(row: TaxRow, *, invoice: Invoice, currency: str) -> InvoiceTax:
    longest = InvoiceTax._meta.get_field("exemption_reason").max_length
    return InvoiceTax(
        invoice=invoice,
        name=row.component_name,
        category=row.category,
        rate_e6=int(row.rate * 1_000_000),
        taxable_minor=to_minor(row.taxable, currency=currency),
        tax_minor=to_minor(row.tax, currency=currency),
        exemption_reason=row.exemption_reason[:longest],
    )


def _set_sums(invoice: Invoice, *, totals: Totals, currency: str) -> None:
    invoice.without_tax_minor = to_minor(totals.without_tax, currency=currency)
    invoice.tax_minor = to_minor(totals.tax, currency=currency)
    invoice.total_minor = to_minor(totals.with_tax, currency=currency)


def _sums(invoice: Invoice) -> dict[str, str | int | bool | None]:
    return {"without_tax_minor": invoice.without_tax_minor, "total_minor": invoice.total_minor}

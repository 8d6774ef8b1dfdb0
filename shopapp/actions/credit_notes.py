"""Takes an issued invoice back whole, by a credit note; the invoice itself never changes (T26)."""

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.allocations import release
from shopapp.actions.bill_sums import SUMS, TAX_FACTS, sums_told
from shopapp.actions.invoices import lock_visit, seal
from shopapp.actions.locks import locked
from shopapp.actions.numbering import take_number
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import BilledSource, Invoice, InvoiceKind, InvoiceLine, InvoiceTax
from shopapp.queries.shop import local_day, the_shop

LONGEST_REASON = 300
KEPT = ("discount_e4", "discount_reason", "purchase_order", *SUMS)


@transaction.atomic
def credit_invoice(invoice_pk: int, reason: str, *, by: Actor) -> Invoice:
    """Credit an issued invoice as a whole, with a reason.

    The credit note has the lines, rates and rounded sums of the invoice, so both together are exactly nil.
    What the invoice billed may be billed again; what was paid of it is free, for the next bill or to be
    given back. Locks the work order, the invoice, the number series, then the chain head. A second sender
    gets the credit note that is there. If the power fails before the commit nothing has changed and the
    number is free. Raises Refused for a draft or a credit note, BadInput without a reason.
    """
    work_order = lock_visit(invoice_pk)
    invoice = locked(Invoice.objects.filter(pk=invoice_pk)).get()
    desk_person(by)
    made = Invoice.objects.filter(credits=invoice).first()
    if made is not None:
        return made
    _require_creditable(invoice, reason=reason)
    # without its work order as long as it is a draft: there may be a draft of the next bill
    note = Invoice(
        kind=InvoiceKind.CREDIT_NOTE,
        credits=invoice,
        credit_reason=reason.strip(),
        customer=invoice.customer,
        created_at=by.at,
        **{name: getattr(invoice, name) for name in KEPT},
    )
    note.save()
    _copy_rows(invoice, note=note)
    note.work_order = work_order
    note.issued_at = by.at
    note.issue_date = note.due_date = local_day(the_shop(), by.at)
    note.tax_date = invoice.tax_date
    note.number = take_number("credit_note")
    seal(note)
    BilledSource.objects.filter(line__invoice=invoice).delete()
    released = release(invoice, by=by)
    search_texts.index(note)
    facts = sums_told(note) | {"number": note.number, "credits": invoice.number, "released_minor": released}
    entry = Entry(verb="credit invoice", record=note, facts=facts, work_order=work_order)
    activity.record([entry], by=by)
    return note


def _require_creditable(invoice: Invoice, *, reason: str) -> None:
    if invoice.issued_at is None:
        raise Refused(_("This is still a draft. Change it or throw it away instead."))
    if invoice.kind == InvoiceKind.CREDIT_NOTE:
        raise Refused(_("A credit note can't be credited. Bill the work again instead."))
    if not reason.strip() or len(reason) > LONGEST_REASON:
        raise BadInput("reason", reason, _("why it is taken back, in at most %s characters") % LONGEST_REASON)


def _copy_rows(invoice: Invoice, *, note: Invoice) -> None:
    lines = list(invoice.lines.order_by("position"))
    for line in lines:
        line.pk, line.invoice, line._state.adding = None, note, True
    InvoiceLine.objects.bulk_create(lines)
    InvoiceTax.objects.bulk_create(
        InvoiceTax(invoice=note, **{name: getattr(tax, name) for name in TAX_FACTS})
        for tax in invoice.taxes.order_by("pk")
    )

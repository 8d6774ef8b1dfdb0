"""Draws up invoices from what was agreed and done, and issues them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, bill_sums, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.allocations import allocate_deposits
from shopapp.actions.bill_sums import Drawn, Figures, Terms, figures_of, sums_told
from shopapp.actions.locks import locked
from shopapp.actions.numbering import take_number
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.actions.versions import save_edit
from shopapp.calc.billing import Source
from shopapp.documents.canonical import canonical, digest
from shopapp.models import Customer, Invoice, InvoiceLine, LineOrigin, WorkOrder
from shopapp.queries.actual_rows import RowKey
from shopapp.queries.bill_books import Choices, Mark
from shopapp.queries.bill_limits import limit_of
from shopapp.queries.invoice_papers import invoice_content
from shopapp.queries.invoices import last_work_day, payer_of
from shopapp.queries.over_agreed import held_back
from shopapp.queries.proposals import FEE_SOURCES, Proposals, line_of, proposals
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shop_texts import texts_of
from shopapp.queries.unbilled import unbilled
from shopapp.queries.visit_books import VisitBooks, books_of


@dataclass(frozen=True, kw_only=True)
class OpenNow(Proposals):
    """All that could be billed on a visit now, and what that was told from: read once for a whole action.

    Only issuing an invoice or writing in the books changes any of it, and the visit is locked.
    """

    held: frozenset[RowKey]
    books: VisitBooks


@dataclass(frozen=True, kw_only=True)
class Basis:
    """All that could be billed, what the draft makes of it, and what that comes to."""

    open: OpenNow
    figures: Figures


@transaction.atomic
def draft_invoice(work_order_pk: int, *, by: Actor) -> Invoice:
    """The draft of what may be billed on a work order now, worked out as issuing it now would.

    Locks the work order, then its draft, the customer who pays, and last the chain head. A second sender
    gets the same draft; one that nobody changed by hand takes up what was finished since. A row of the plan
    or the actual book is billed once (a constraint holds it). If the power fails before the commit there is
    no draft (or the one before); after it, there is a whole one. Raises Refused when there is nothing to
    bill.
    """
    work_order = lock_work_order(work_order_pk)
    desk_person(by)
    draft = locked(Invoice.objects.filter(work_order=work_order, issued_at=None)).first()
    if draft is not None and draft.version > 1:
        return draft
    return _worked_out(draft, work_order=work_order, by=by)


@transaction.atomic
def redraft_invoice(invoice_pk: int, *, version: int, by: Actor) -> Invoice:
    """Work the draft out anew; whatever was changed of it by hand is gone, and the button says so.

    Locks as ``draft_invoice`` does. Raises Stale when somebody else changed the draft meanwhile, Refused
    when it is issued or nothing is left to bill.
    """
    draft = lock_draft(invoice_pk, by=by)
    fresh = {
        "discount_e4": 0,
        "discount_reason": "",
        "over_by": None,
        "over_reason": "",
    }
    draft = save_edit(draft, version=version, changes=fresh)
    return _worked_out(draft, work_order=WorkOrder.objects.get(pk=_visit_pk(draft)), by=by)


@transaction.atomic
def discard_draft(invoice_pk: int, *, version: int, by: Actor) -> None:
    """Throw a draft away: it had no number, and what it would have billed may be drafted again.

    Locks the work order, the draft, and last the chain head. A second sender is refused: the draft is gone.
    Raises Stale when somebody else changed it meanwhile. If the power fails, all of it or nothing.
    """
    draft = lock_draft(invoice_pk, by=by)
    save_edit(draft, version=version, changes={})
    facts = sums_told(draft)
    entry = Entry(verb="discard draft", record=draft, facts=facts, work_order=draft.work_order)
    key = draft.pk
    draft.delete()
    draft.pk = key
    activity.record([entry], by=by)


@transaction.atomic
def issue_invoice(invoice_pk: int, *, by: Actor) -> Invoice:
    """Give the draft its number and days, take off what was paid before, and freeze it with what is printed.

    Locks the work order, the invoice, the customer, the payments on the visit, the number series, then the
    chain head. A second sender gets the issued invoice. Whatever fails before the commit (full disk, kill,
    power cut) leaves the draft as it was and the number free; after it the invoice stands for ever. Tax is
    that of the last day of work. Raises Refused, and changes nothing, when what is finished or what it
    comes to is no longer what the draft says, when it goes beyond what the customer agreed to (T34), or
    when a purchase order is missing.
    """
    work_order = lock_visit(invoice_pk)
    invoice = locked(Invoice.objects.filter(pk=invoice_pk)).get()
    desk_person(by)
    if invoice.issued_at is not None or work_order is None:
        return invoice
    # one read for sums and paper: nobody can make this customer exempt between the two
    invoice.customer = _lock_customer(payer_of(work_order))
    tax_date = _require_unchanged(invoice, work_order=work_order, by=by)
    _require_billable(invoice, work_order=work_order)
    _freeze(invoice, tax_date=tax_date, by=by)
    search_texts.index(invoice)
    facts = sums_told(invoice) | {"number": invoice.number, "shown_sha256": invoice.shown_sha256}
    entry = Entry(verb="issue invoice", record=invoice, facts=facts, work_order=work_order)
    activity.record([entry], by=by)
    return invoice


def lock_visit(invoice_pk: int) -> WorkOrder | None:
    """The work order of an invoice, locked: every action on a visit takes this lock first.

    None for a sale over the counter.
    """
    pk: int | None = Invoice.objects.values_list("work_order_id", flat=True).get(pk=invoice_pk)
    return lock_work_order(pk) if pk is not None else None


def lock_draft(invoice_pk: int, *, by: Actor) -> Invoice:
    """A draft, locked after its work order. Raises Refused when it is gone or issued."""
    desk_person(by)
    pk = Invoice.objects.filter(pk=invoice_pk).values_list("work_order_id", flat=True).first()
    if pk is not None:
        lock_work_order(pk)
    draft = locked(Invoice.objects.filter(pk=invoice_pk)).first()
    if draft is None:
        raise Refused(_("This draft is not there any more."))
    if draft.issued_at is not None:
        raise Refused(_("This invoice is issued and never changes. Credit it if it is wrong."))
    return draft


def choices_of(draft: Invoice, *, open_now: OpenNow) -> Choices:
    """What a person decided about a draft: which rows are not on it, and how its lines read. Two queries."""
    lines = list(draft.lines.order_by("position"))
    claims = bill_sums.claims_of(draft)
    marks: dict[Source, Mark] = {}
    on_it: set[Source] = set()
    for line in lines:
        sources = claims.get(line.pk, frozenset())
        mark = Mark(
            description=line.description,
            discount_e4=line.discount_e4,
            payer=line.payer,
            note=line.note,
        )
        marks |= dict.fromkeys(sources, mark)
        on_it |= sources | ({FEE_SOURCES[line.origin]} if line.origin in FEE_SOURCES else set())
    return Choices(left_out=open_now.sources - on_it, marks=marks)


def added_lines(draft: Invoice) -> list[InvoiceLine]:
    """The lines that a person added to a draft by hand. One query."""
    return list(draft.lines.filter(origin=LineOrigin.ADDED).order_by("position"))


def basis_of(
    draft: Invoice, *, choices: Choices, added: Sequence[InvoiceLine], open_now: OpenNow, by: Actor
) -> Basis:
    """What the draft comes to now under a person's choices, with the lines they added by hand."""
    work_order = WorkOrder.objects.get(pk=_visit_pk(draft))
    mine = proposals(work_order, held=open_now.held, choices=choices, books=open_now.books)
    drawn = [Drawn(line=line_of(one), sources=one.sources) for one in mine.lines]
    for line in added:
        line.pk, line._state.adding = None, True
        drawn.append(Drawn(line=line))
    terms = Terms(
        customer=draft.customer,
        tax_date=_tax_date(open_now, by=by),
        discount_e4=draft.discount_e4,
        discount_reason=draft.discount_reason,
    )
    return Basis(open=open_now, figures=figures_of(drawn, terms=terms))


def open_proposals(work_order: WorkOrder) -> OpenNow:
    """All that could be billed on a visit now; nine queries."""
    books = books_of(work_order)
    held = held_back(work_order, books=books)
    found = proposals(work_order, held=held, books=books)
    return OpenNow(lines=found.lines, job_pks=found.job_pks, held=held, books=books)


def _worked_out(draft: Invoice | None, *, work_order: WorkOrder, by: Actor) -> Invoice:
    """The draft as the books have it, written only where it differs."""
    # before a draft is created: a new row holds its customer's too, and two drafts would block each other
    customer = _lock_customer(payer_of(work_order))
    found = _found(work_order)
    drawn = [Drawn(line=line_of(one), sources=one.sources) for one in found.lines]
    figures = figures_of(drawn, terms=Terms(customer=customer, tax_date=_tax_date(found, by=by)))
    if draft is not None and draft.customer_id == customer.pk and bill_sums.has(draft, figures=figures):
        return draft
    if draft is None:
        draft = Invoice(work_order=work_order, created_at=by.at, purchase_order=work_order.purchase_order)
    draft.customer, draft.proposed_sha256 = customer, found.sha256
    draft.save()
    bill_sums.write(draft, figures=figures)
    entry = Entry(verb="draft invoice", record=draft, facts=sums_told(draft), work_order=work_order)
    activity.record([entry], by=by)
    return draft


def _visit_pk(draft: Invoice) -> int:
    if draft.work_order_id is None:
        raise Refused(_("This is a sale over the counter; there is no work order to bill."))
    return draft.work_order_id


def _found(work_order: WorkOrder) -> OpenNow:
    found = open_proposals(work_order)
    if not found.lines and unbilled(work_order).waiting:
        raise Refused(
            _(
                "Nothing can be billed yet: what was logged has no price, or nobody agreed to it. "
                "Look at what is agreed and what is beyond it on the work order."
            )
        )
    if not found.lines:
        raise Refused(_("There is nothing to bill: no approved work is finished, or all of it is billed."))
    return found


def _lock_customer(pk: int) -> Customer:
    return locked(Customer.objects.filter(pk=pk)).get()


def _tax_date(found: Proposals, *, by: Actor) -> date:
    shop = the_shop()
    return last_work_day(shop, found.job_pks) or local_day(shop, by.at)


def _require_unchanged(draft: Invoice, *, work_order: WorkOrder, by: Actor) -> date:
    """The day whose tax counts, once the draft is known to say what is so."""
    found = open_proposals(work_order)
    if not draft.lines.exists() or found.sha256 != draft.proposed_sha256:
        raise Refused(
            _(
                "What is finished has changed since this draft was made. "
                "Look at what is not on it, or draft it again."
            )
        )
    payer = draft.customer
    basis = basis_of(
        draft,
        choices=choices_of(draft, open_now=found),
        added=added_lines(draft),
        open_now=found,
        by=by,
    )
    is_same_payer = Invoice.objects.filter(pk=draft.pk, customer=payer).exists()
    if not is_same_payer or not bill_sums.has(draft, figures=basis.figures):
        raise Refused(
            _(
                "The sums have changed since the draft was made; look at it again. "
                "The button “Work it out again” brings the draft up to date."
            )
        )
    return _tax_date(found, by=by)


def _require_billable(invoice: Invoice, *, work_order: WorkOrder) -> None:
    """Not below nil, not beyond what was agreed, and with the purchase order that the customer needs."""
    if invoice.total_minor < 0:
        raise Refused(_("These lines come to less than nothing. Take in what else is to be billed."))
    customer = invoice.customer
    if customer is not None and customer.needs_purchase_order and not invoice.purchase_order:
        raise Refused(
            _("%s needs a purchase order number on each bill. Write it on the draft.") % customer.name
        )
    limit = limit_of(invoice, work_order=work_order)
    if limit.over_minor > 0 and invoice.over_by_id is None:
        texts = texts_of(the_shop())
        raise Refused(
            _(
                "This bill goes %(over)s beyond what the customer agreed to (%(agreed)s without tax). "
                "Ask for the extra work by a supplement, give it as goodwill, or let the owner bill it "
                "with a reason."
            )
            % {"over": texts.money(limit.over_minor), "agreed": texts.money(limit.agreed_minor)}
        )


def _freeze(invoice: Invoice, *, tax_date: date, by: Actor) -> None:
    shop = the_shop()
    issue_date = local_day(shop, by.at)
    own_days = invoice.customer.payment_days if invoice.customer is not None else None
    days = own_days if own_days is not None else shop.payment_days
    invoice.issued_at, invoice.issue_date, invoice.tax_date = by.at, issue_date, tax_date
    invoice.due_date = issue_date + timedelta(days=days)
    invoice.deposit_minor = allocate_deposits(invoice, by=by)
    invoice.number = take_number("invoice")
    seal(invoice)


def seal(invoice: Invoice) -> None:
    """Freeze what is printed of a document that has its number and days, and save it for good."""
    invoice.shown = canonical(invoice_content(invoice))
    invoice.shown_sha256 = digest(invoice.shown)
    invoice.save()

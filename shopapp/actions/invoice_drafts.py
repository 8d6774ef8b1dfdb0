"""Changes a draft by hand: a line left out or taken in, its words, a discount, goodwill, an added fee.

Each edit carries the version of the draft it started from; lines that follow from others (what is above an
agreed maximum, the tax) are worked out anew each time.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, bill_sums
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.invoices import (
    OpenNow,
    added_lines,
    basis_of,
    choices_of,
    lock_draft,
    open_proposals,
)
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.versions import save_edit
from shopapp.calc.billing import Source
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4, to_milli
from shopapp.models import Invoice, InvoiceLine, LineKind, LineOrigin, Payer, Unit, WorkOrder
from shopapp.queries.bill_books import Choices, Mark
from shopapp.queries.proposals import FEE_SOURCES, Proposals
from shopapp.queries.shop import tax_code_of_kind

WHOLE = 10_000


@dataclass(frozen=True, kw_only=True)
class LineChange:
    """What a line says and costs on this bill: words, a discount (a share), or a gift with its reason."""

    description: str
    discount: Decimal = Decimal(0)
    is_goodwill: bool = False
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class FeeInput:
    """A line that no book has: a fee for something, at a price of its own."""

    description: str
    quantity: Decimal
    unit_price: Decimal
    unit: Unit = Unit.EACH
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class DraftInput:
    """What stands for the whole bill: the customer's purchase order, a discount (a share) and its reason."""

    purchase_order: str = ""
    discount: Decimal = Decimal(0)
    discount_reason: str = ""


@dataclass(frozen=True, kw_only=True)
class _Rework:
    """A draft under the hand: what could be billed, what was decided so far, and the added lines."""

    draft: Invoice
    open_now: OpenNow
    choices: Choices
    added: list[InvoiceLine]


@transaction.atomic
def leave_out(line_pk: int, *, version: int, by: Actor) -> Invoice:
    """Take a line off the draft; it stays unbilled and can be taken in again. An added line goes for good.

    Locks the work order, the draft, and last the chain head. Of two senders the second gets Stale. If the
    power fails, all of it or nothing.
    """
    line = _line(line_pk)
    work = _begin(line.invoice_id, by=by)
    sources = _sources_of(line, draft=work.draft)
    if not sources and line.origin != LineOrigin.ADDED:
        raise Refused(_("This line follows from the others; it goes when they do."))
    work = replace(
        work,
        choices=replace(work.choices, left_out=frozenset(work.choices.left_out) | sources),
        added=[one for one in work.added if one.pk != line_pk],
    )
    return _finish(work, version=version, verb="leave out", facts={"line": line.description}, by=by)


@transaction.atomic
def take_in(invoice_pk: int, sources: Collection[Source], *, version: int, by: Actor) -> Invoice:
    """Put rows on the draft that were left out of it, or were finished since.

    Locks the work order, the draft, and last the chain head. Of two senders the second gets Stale. Raises
    Refused when a row may not be billed (any more).
    """
    work = _begin(invoice_pk, by=by)
    wanted = frozenset(sources)
    if not wanted or not wanted <= work.open_now.sources:
        raise Refused(_("This can't be billed now. Look at what is not on the bill again."))
    work = replace(work, choices=replace(work.choices, left_out=frozenset(work.choices.left_out) - wanted))
    return _finish(work, version=version, verb="take in line", facts={"rows": len(wanted)}, by=by)


@transaction.atomic
def change_line(line_pk: int, data: LineChange, *, version: int, by: Actor) -> Invoice:
    """Give a line other words, a greater discount, or make it a gift of the shop with a reason.

    Locks the work order, the draft, and last the chain head. Of two senders the second gets Stale. A line
    never gets dearer than it was agreed or logged: BadInput says so.
    """
    line = _line(line_pk)
    work = _begin(line.invoice_id, by=by)
    sources = _sources_of(line, draft=work.draft) - set(FEE_SOURCES.values())
    if not sources and line.origin != LineOrigin.ADDED:
        raise Refused(_("This line follows from the others and can't be changed by itself."))
    mark = _mark(data, least_e4=_agreed_discount(sources, open_now=work.open_now))
    if sources:
        marks = dict(work.choices.marks) | dict.fromkeys(sources, mark)
        work = replace(work, choices=replace(work.choices, marks=marks))
    else:
        _mark_added(work.added, line_pk=line_pk, mark=mark)
    facts: Payload = {"line": mark.description, "discount_e4": mark.discount_e4, "payer": mark.payer}
    return _finish(work, version=version, verb="change bill line", facts=facts, by=by)


@transaction.atomic
def add_fee(invoice_pk: int, data: FeeInput, *, version: int, by: Actor) -> Invoice:
    """Add a line that no book has. It counts towards what was agreed like any other line of the bill.

    Locks the work order, the draft, and last the chain head. Of two senders the second gets Stale.
    """
    work = _begin(invoice_pk, by=by)
    if not data.description.strip():
        raise BadInput("description", data.description, _("what the customer pays for"))
    if data.quantity <= 0 or data.unit_price < 0:
        raise BadInput("quantity", data.quantity, _("a quantity above 0 and a price of 0 or more"))
    line = InvoiceLine(
        origin=LineOrigin.ADDED,
        kind=LineKind.FEE,
        description=data.description.strip(),
        quantity_milli=to_milli(data.quantity, field="quantity"),
        unit=data.unit,
        unit_price_e4=to_e4(data.unit_price, field="unit_price"),
        tax_code_id=tax_code_of_kind(LineKind.FEE),
        note=data.note,
        position=0,
    )
    work = replace(work, added=[*work.added, line])
    return _finish(work, version=version, verb="add bill line", facts={"line": line.description}, by=by)


@transaction.atomic
def edit_draft(invoice_pk: int, data: DraftInput, *, version: int, by: Actor) -> Invoice:
    """Write the purchase order number, and a discount on the whole bill with its reason.

    Locks the work order, the draft, and last the chain head. Of two senders the second gets Stale.
    """
    work = _begin(invoice_pk, by=by)
    discount_e4 = to_e4(data.discount, field="discount")
    if not 0 <= discount_e4 <= WHOLE:
        raise BadInput("discount", data.discount, _("a share from 0 to 1"))
    if discount_e4 and not data.discount_reason.strip():
        raise BadInput("discount_reason", "", _("why the customer gets the discount"))
    changes: Payload = {
        "purchase_order": data.purchase_order.strip(),
        "discount_e4": discount_e4,
        "discount_reason": data.discount_reason.strip() if discount_e4 else "",
    }
    return _finish(work, version=version, verb="edit draft", facts=changes, by=by, changes=changes)


@transaction.atomic
def keep_draft(invoice_pk: int, *, version: int, by: Actor) -> Invoice:
    """Bill only what stands on the draft: what was finished since waits for another bill.

    Locks the work order, the draft, and last the chain head. Of two senders the second gets Stale.
    """
    return _finish(_begin(invoice_pk, by=by), version=version, verb="keep draft", facts={}, by=by)


@transaction.atomic
def bill_beyond(invoice_pk: int, reason: str, *, version: int, by: Actor) -> Invoice:
    """The owner takes it on themselves to bill more than the customer agreed to, with a reason (T34).

    Locks the work order, the draft, and last the chain head. Of two senders the second gets Stale. Raises
    NotAllowed for everybody but the owner.
    """
    person = desk_person(by)
    if not access.may_see_costs(person):
        raise NotAllowed(_("Only the owner may bill more than was agreed."))
    work = _begin(invoice_pk, by=by)
    if not reason.strip():
        raise BadInput("reason", reason, _("why the customer is billed more than they agreed to"))
    changes = {"over_by": person, "over_reason": reason.strip()}
    facts: Payload = {"reason": reason.strip()}
    return _finish(work, version=version, verb="bill beyond", facts=facts, by=by, changes=changes)


def _line(pk: int) -> InvoiceLine:
    line = InvoiceLine.objects.filter(pk=pk).first()
    if line is None:
        raise Refused(_("Somebody changed this draft while you were writing. Open it again."))
    return line


def _begin(invoice_pk: int, *, by: Actor) -> _Rework:
    draft = lock_draft(invoice_pk, by=by)
    if draft.work_order_id is None:
        raise Refused(_("A sale over the counter has no draft."))
    open_now = open_proposals(WorkOrder.objects.get(pk=draft.work_order_id))
    return _Rework(
        draft=draft,
        open_now=open_now,
        choices=choices_of(draft, open_now=open_now),
        added=added_lines(draft),
    )


def _finish(
    work: _Rework,
    *,
    version: int,
    verb: str,
    facts: Payload,
    by: Actor,
    changes: Mapping[str, Any] | None = None,
) -> Invoice:
    """Save under the version, work out the rest anew, and remember it.

    Whoever edits has seen the page with what is not on the bill, so that is what they decided on.
    """
    decided = {"proposed_sha256": work.open_now.sha256} | dict(changes or {})
    before = work.draft.without_tax_minor
    draft = save_edit(work.draft, version=version, changes=decided)
    basis = basis_of(draft, choices=work.choices, added=work.added, open_now=work.open_now, by=by)
    bill_sums.write(draft, figures=basis.figures)
    if draft.without_tax_minor > before and "over_by" not in decided:
        # the owner said yes to a smaller bill
        draft.over_by, draft.over_reason = None, ""
        draft.save(update_fields=["over_by", "over_reason"])
    entry = Entry(
        verb=verb, record=draft, facts={**facts, **bill_sums.sums_told(draft)}, work_order=draft.work_order
    )
    activity.record([entry], by=by)
    return draft


def _sources_of(line: InvoiceLine, *, draft: Invoice) -> frozenset[Source]:
    claims = bill_sums.claims_of(draft).get(line.pk, frozenset())
    fee = FEE_SOURCES.get(line.origin)
    return claims | ({fee} if fee is not None else set())


def _agreed_discount(sources: Collection[Source], *, open_now: Proposals) -> int:
    """The discount that the customer was promised for these rows already, in 1/10,000."""
    found = [one.item.discount for one in open_now.lines if set(one.sources) & set(sources)]
    return int(max(found, default=Decimal(0)) * WHOLE)


def _mark(data: LineChange, *, least_e4: int) -> Mark:
    if not data.description.strip():
        raise BadInput("description", data.description, _("what the customer reads"))
    if data.is_goodwill and not data.note.strip():
        raise BadInput("note", data.note, _("why the shop gives this as goodwill"))
    if data.is_goodwill:
        return Mark(
            description=data.description.strip(), discount_e4=WHOLE, payer=Payer.SHOP, note=data.note.strip()
        )
    discount_e4 = to_e4(data.discount, field="discount")
    if not least_e4 <= discount_e4 <= WHOLE:
        least = f"{(Decimal(least_e4) / 100).normalize():f}"
        raise BadInput("discount", data.discount, _("at least the agreed %s %% and at most 100 %%") % least)
    return Mark(description=data.description.strip(), discount_e4=discount_e4, note=data.note.strip())


def _mark_added(added: list[InvoiceLine], *, line_pk: int, mark: Mark) -> None:
    for line in added:
        if line.pk == line_pk:
            line.description, line.discount_e4 = mark.description, mark.discount_e4
            line.payer, line.note = mark.payer, mark.note

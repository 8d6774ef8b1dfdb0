"""What a draft of a quote is made of: what is put in, what is refused, the lock that every change takes."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4, to_milli
from shopapp.models import (
    LineKind,
    PartCondition,
    Payer,
    Quote,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Removed,
    RevisionState,
    Unit,
    Way,
)
from shopapp.queries.parts import part_by_number
from shopapp.queries.shop import tax_code_of_kind

LARGEST_LINE = Decimal(10_000_000)
LONGEST_WHAT = 200


@dataclass(frozen=True, kw_only=True)
class OptionInput:
    """The words of one option."""

    way: Way
    title: str
    explanation: str = ""
    left_out: str = ""
    days: int = 0
    warranty_months: int = 0
    warranty_covers: str = ""


@dataclass(frozen=True, kw_only=True)
class LineInput:
    """One priced line. Discount: a share from 0 to 1. The cost is the owner's: ``None`` from anybody else."""

    kind: LineKind
    description: str
    quantity: Decimal
    unit: Unit
    unit_price: Decimal
    discount: Decimal = Decimal(0)
    payer: Payer = Payer.CUSTOMER
    number: str = ""
    condition: PartCondition = PartCondition.NEW
    unit_cost: Decimal | None = None


def lock_draft(revision_pk: int | None, *, by: Actor) -> QuoteRevision:
    """The draft, locked after its work order, for the desk. Refused once it was sent."""
    desk_person(by)
    revision = lock_revision(still_there(revision_pk))
    if revision.state == RevisionState.DISCARDED:
        raise Refused(_("This draft was thrown away. Write a new quote."))
    if revision.state != RevisionState.DRAFT:
        raise Refused(_("This quote was sent; it stays as the customer saw it. Revise it to change it."))
    return revision


def lock_revision(revision_pk: int) -> QuoteRevision:
    """The revision, locked after its work order; both come along."""
    work_order_pk = QuoteRevision.objects.values_list("quote__work_order_id", flat=True).get(pk=revision_pk)
    work_order = lock_work_order(work_order_pk)
    revision = locked(QuoteRevision.objects.filter(pk=revision_pk)).get()
    revision.quote = Quote.objects.get(pk=revision.quote_id)
    revision.quote.work_order = work_order
    return revision


def revision_of(model: type[QuoteChoice | QuoteOption | QuoteLine], pk: int) -> int | None:
    """The id of the revision that a choice, option or line belongs to."""
    ways = {
        QuoteChoice: "revision_id",
        QuoteOption: "choice__revision_id",
        QuoteLine: "option__choice__revision_id",
    }
    found: int | None = model._default_manager.filter(pk=pk).values_list(ways[model], flat=True).first()
    return found


def still_there[T](found: T | None) -> T:
    """The row that was looked for under the lock; refused when somebody removed it meanwhile."""
    if found is None:
        raise Refused(_("Somebody removed this a moment ago."))
    return found


def require_version(row: QuoteOption | QuoteLine, version: int) -> None:
    """Raises Stale when somebody wrote the (locked) row since ``version``."""
    if row.version != version:
        raise Stale(row)


def option_values(data: OptionInput) -> dict[str, Any]:
    """Columns of an option. Raises BadInput."""
    if data.way not in Way.values:
        raise BadInput("way", data.way, ", ".join(Way.values))
    if not data.title.strip():
        raise BadInput("title", data.title, _("a few words that name this option"))
    return {
        "way": data.way,
        "title": data.title.strip(),
        "explanation": data.explanation,
        "left_out": data.left_out,
        "days": data.days,
        "warranty_months": data.warranty_months,
        "warranty_covers": data.warranty_covers,
    }


def line_values(data: LineInput, *, by: Actor) -> dict[str, Any]:
    """Columns of a line. The cost is left out for everybody but the owner, so that an edit keeps it."""
    _check_line(data)
    values = {
        "kind": data.kind,
        "number": data.number,
        "description": data.description.strip(),
        "quantity_milli": to_milli(data.quantity, field="quantity"),
        "unit": data.unit,
        "unit_price_e4": to_e4(data.unit_price, field="unit_price"),
        "discount_e4": to_e4(data.discount, field="discount"),
        "tax_code_id": tax_code_of_kind(data.kind),
        "payer": data.payer,
        # only what is put in can be used or somebody's own
        "condition": data.condition if data.kind == LineKind.PART else PartCondition.NEW,
    }
    if by.person is not None and access.may_see_costs(by.person):
        return values | {"unit_cost_e4": _cost(data.unit_cost)}
    if data.unit_cost is not None:
        raise NotAllowed(_("Only the owner sets costs."))
    return values


def with_known_cost(values: dict[str, Any]) -> dict[str, Any]:
    """The columns with what the shop's list says a part costs, where nobody says so and the unit fits.

    A part that the customer brings costs the shop nothing.
    """
    if values.get("unit_cost_e4") is not None or values["kind"] != LineKind.PART:
        return values
    if values["condition"] == PartCondition.CUSTOMERS_OWN:
        return values | {"unit_cost_e4": 0}
    part = part_by_number(values["number"])
    if part is None or part.unit != values["unit"]:
        return values
    return values | {"unit_cost_e4": part.unit_cost_e4}


def _cost(unit_cost: Decimal | None) -> int | None:
    if unit_cost is not None and unit_cost < 0:
        raise BadInput("unit_cost", unit_cost, _("0 or more"))
    return None if unit_cost is None else to_e4(unit_cost, field="unit_cost")


def _check_line(data: LineInput) -> None:
    for field, known in (("kind", LineKind), ("payer", Payer), ("condition", PartCondition)):
        if getattr(data, field) not in known.values:
            raise BadInput(field, getattr(data, field), ", ".join(known.values))
    if not data.description.strip():
        raise BadInput("description", data.description, _("what it is, in a few words"))
    if data.quantity <= 0:
        raise BadInput("quantity", data.quantity, _("a number above 0"))
    if not 0 <= data.discount <= 1:
        raise BadInput("discount", data.discount, _("a share from 0 to 1"))
    if data.unit_price < 0:
        raise BadInput("unit_price", data.unit_price, _("0 or more"))
    if data.quantity * data.unit_price > LARGEST_LINE:
        raise BadInput("unit_price", data.unit_price, _("a price that makes at most 10 million in all"))


def keep_removed(
    row: QuoteChoice | QuoteOption | QuoteLine, *, what: str, revision: QuoteRevision, by: Actor
) -> None:
    """Keep a row of a (locked) draft with all that hangs on it, before it is taken away."""
    Removed.objects.create(
        person=desk_person(by),
        what=what[:LONGEST_WHAT],
        revision=revision,
        rows=[_kept(one) for one in _with_its_own(row)],
        removed_at=by.at,
    )


def _with_its_own(row: models.Model) -> Iterator[models.Model]:
    """The row, then what hangs on it: parents before children."""
    yield row
    if isinstance(row, QuoteChoice):
        for option in row.options.order_by("position"):
            yield from _with_its_own(option)
    elif isinstance(row, QuoteOption):
        yield from row.lines.order_by("position")


def _kept(row: models.Model) -> Mapping[str, Any]:
    values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    return {"table": row._meta.model_name, "values": values}


def record_change(
    verb: str,
    row: QuoteRevision | QuoteOption | QuoteLine,
    *,
    revision: QuoteRevision,
    by: Actor,
    facts: Mapping[str, str | int],
) -> None:
    """Remember a change of a (locked) revision, last in an action. Facts hold no costs."""
    all_facts = {"quote": str(revision), **facts}
    entry = Entry(verb=verb, record=row, facts=all_facts, work_order=revision.quote.work_order)
    activity.record([entry], by=by)

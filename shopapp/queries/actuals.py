"""What really happened on a visit: one book of all that was logged; and what an hour of a person costs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import (
    Case,
    DateField,
    DateTimeField,
    F,
    IntegerField,
    Model,
    OuterRef,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.fluids import Moved, Seen
from shopapp.calc.money import from_e4, from_milli
from shopapp.models import (
    FeeEntry,
    FluidCondition,
    FluidEntry,
    Job,
    LineKind,
    PartCondition,
    PartUsed,
    Payer,
    Person,
    QuoteLine,
    SubletEntry,
    TimeEntry,
    TimeKind,
    Unit,
    Wage,
)
from shopapp.queries.actual_rows import BOOK_OF, RowKey, slug_of
from shopapp.queries.wages import cost_of_an_hour

MOST_ROWS = 300
MINUTES_AN_HOUR = 60
WHOLE_SHARE = 10_000
MILLI = 1_000
# books that count in 1/1,000 of a unit
IN_MILLI = (LineKind.PART, LineKind.SUBLET, LineKind.FEE)


SHARED = (
    "id",
    "book",
    "what",
    "code",
    "amount",
    "measure",
    "drained",
    "extra",
    "point",
    "job__position",
    "plan_line_id",
    "shape",
    "due",
    "back_at",
    "struck_at",
    "struck_reason",
    "payer",
    "payer_reason",
    "override_by_id",
    "override_reason",
    "logged_by__name",
    "happened_at",
)
NO_DAY, NO_MOMENT = Cast(Value(None), DateField()), Cast(Value(None), DateTimeField())
# the five books in the same columns, so that one query reads them all
PARTS = {
    "shape": F("condition"),
    "due": NO_DAY,
    "back_at": NO_MOMENT,
    "book": Value(LineKind.PART.value),
    "what": F("description"),
    "code": F("number"),
    "amount": F("quantity_milli"),
    "measure": F("unit"),
    "drained": Value(0),
    "extra": Value(""),
    "point": Value(""),
}
TIMES = {
    "shape": Value(""),
    "due": NO_DAY,
    "back_at": NO_MOMENT,
    "book": Value(LineKind.LABOUR.value),
    "what": F("kind"),
    "code": Value(""),
    "amount": F("minutes"),
    "measure": Value(Unit.HOUR.value),
    "drained": Value(0),
    "extra": F("person__name"),
    "point": Value(""),
}
FLUIDS = {
    "shape": Value(""),
    "due": NO_DAY,
    "back_at": NO_MOMENT,
    "book": Value(LineKind.FLUID.value),
    "what": F("product"),
    "code": Value(""),
    "amount": F("filled_ml"),
    "measure": Value(Unit.MILLILITRE.value),
    "drained": F("drained_ml"),
    "extra": F("condition"),
}
SUBLETS = {
    "shape": Value(""),
    "due": F("due_back_date"),
    "book": Value(LineKind.SUBLET.value),
    "what": F("description"),
    "code": Value(""),
    "amount": Value(MILLI),
    "measure": Value(Unit.EACH.value),
    "drained": Value(0),
    "extra": F("supplier"),
    "point": Value(""),
}
FEES = {
    "shape": Value(""),
    "due": NO_DAY,
    "back_at": NO_MOMENT,
    "book": Value(LineKind.FEE.value),
    "what": F("description"),
    "code": Value(""),
    "amount": F("quantity_milli"),
    "measure": F("unit"),
    "drained": Value(0),
    "extra": F("kind"),
    "point": Value(""),
}
BOOKS: tuple[tuple[type[Model], dict[str, Any]], ...] = (
    (PartUsed, PARTS),
    (TimeEntry, TIMES),
    (FluidEntry, FLUIDS),
    (SubletEntry, SUBLETS),
    (FeeEntry, FEES),
)


@dataclass(frozen=True, kw_only=True)
class ActualRow:
    """A row of the actual book as a technician sees it: no money in it. Time is minutes and words.

    ``slug`` names it in addresses; ``struck`` says why it counts no more (empty: it counts), ``due`` when
    bought-in work is expected back (None: nothing is out).
    """

    slug: str
    book: str
    word: str
    job: int
    what: str
    number: str
    amount: Decimal
    unit: str
    amount_words: str
    note: str
    who: str
    happened_at: datetime
    plan_line: int | None
    is_struck: bool
    struck: str
    is_out: bool
    due: date | None
    # a fluid as it is reckoned up by point
    moved: Moved | None


@dataclass(frozen=True, kw_only=True)
class PricedRow(ActualRow):
    """The same for the desk, with what one unit sells for (None: not priced yet), and what it waits for.

    ``payer`` is empty for the customer; ``held`` says why the row is kept off the bill (empty: it is not),
    ``by_owner`` why the owner bills it although nobody agreed.
    """

    unit_price: Decimal | None
    price_unit: str
    payer: str
    held: str
    by_owner: str


@dataclass(frozen=True, kw_only=True)
class CostedRow(PricedRow):
    """The same for the owner, with what one unit costs and the rule that gave the price."""

    unit_cost: Decimal | None
    price_rule: str


@dataclass(frozen=True, kw_only=True)
class ActualBook:
    """The newest rows of the actual book, oldest first; ``has_older`` when there are more than these."""

    rows: tuple[ActualRow, ...]
    has_older: bool


def actual_book(
    jobs: Sequence[Job], *, viewer: Person, held: Mapping[RowKey, str] | None = None
) -> ActualBook:
    """The actual book of these jobs: its newest 300 rows, in one query.

    Money columns are not even read for somebody who may not see them: prices are the desk's, costs and
    price rules the owner's. ``held`` says which rows wait, and why (``queries.over_agreed``).
    """
    columns = (*SHARED, *_money_columns(viewer))
    books = [
        model._default_manager.filter(job__in=jobs).annotate(**annotations).values(*columns)
        for model, annotations in BOOKS
    ]
    newest_first = books[0].union(*books[1:], all=True).order_by("-happened_at", "-book", "-id")
    found = list(newest_first[: MOST_ROWS + 1])
    rows = tuple(_row(values, held=held or {}) for values in reversed(found[:MOST_ROWS]))
    return ActualBook(rows=rows, has_older=len(found) > MOST_ROWS)


def with_used(lines: QuerySet[QuoteLine]) -> QuerySet[QuoteLine]:
    """Planned lines, each with all that was logged of it as ``used``.

    Counted as the books count: parts and fees in 1/1,000 of their unit, time in minutes, fluids in
    millilitres, each piece of bought-in work as one. Struck rows count nothing.
    """
    sums = (
        (LineKind.PART, _sum_of(PartUsed, "quantity_milli")),
        (LineKind.LABOUR, _sum_of(TimeEntry, "minutes")),
        (LineKind.FLUID, _sum_of(FluidEntry, "filled_ml")),
        (LineKind.SUBLET, _sum_of(SubletEntry, Value(MILLI))),
        (LineKind.FEE, _sum_of(FeeEntry, "quantity_milli")),
    )
    whens = [When(kind=kind, then=used) for kind, used in sums]
    return lines.annotate(used=Coalesce(Case(*whens, output_field=IntegerField()), 0))


def _sum_of(model: type[Model], column: str | Value) -> Subquery:
    rows = model._default_manager.filter(plan_line=OuterRef("pk"), struck_at__isnull=True)
    entries = rows.order_by().values("plan_line")
    return Subquery(entries.annotate(sum=Sum(column)).values("sum"))


def _money_columns(viewer: Person) -> tuple[str, ...]:
    if access.may_see_costs(viewer):
        return ("unit_price_e4", "unit_cost_e4", "price_rule")
    return ("unit_price_e4",) if access.may_use_desk(viewer) else ()


def _row(values: Mapping[str, Any], *, held: Mapping[RowKey, str]) -> ActualRow:
    shown = _words(values)
    if "unit_price_e4" not in values:
        return ActualRow(**shown)
    shown |= {
        "unit_price": _price(values["unit_price_e4"]),
        "price_unit": _price_unit(values),
        "payer": _payer(values),
        "held": held.get((BOOK_OF[LineKind(values["book"])], values["id"]), ""),
        "by_owner": values["override_reason"],
    }
    if "unit_cost_e4" not in values:
        return PricedRow(**shown)
    return CostedRow(**shown, unit_cost=_price(values["unit_cost_e4"]), price_rule=values["price_rule"])


def _words(values: Mapping[str, Any]) -> dict[str, Any]:
    kind = LineKind(values["book"])
    is_time = kind == LineKind.LABOUR
    return {
        "slug": slug_of((BOOK_OF[kind], values["id"])),
        "book": kind.value,
        "word": str(kind.label),
        "job": values["job__position"],
        "what": str(TimeKind(values["what"]).label) if is_time else values["what"],
        "number": values["code"],
        "amount": from_milli(values["amount"]) if kind in IN_MILLI else Decimal(values["amount"]),
        "unit": str(Unit(values["measure"]).label),
        "amount_words": _amount_words(values),
        "note": _note(values),
        "who": values["logged_by__name"],
        "happened_at": values["happened_at"],
        "plan_line": values["plan_line_id"],
        "is_struck": values["struck_at"] is not None,
        "struck": values["struck_reason"],
        "is_out": kind == LineKind.SUBLET and values["back_at"] is None,
        "due": values["due"] if values["back_at"] is None else None,
        "moved": _moved(values) if kind == LineKind.FLUID else None,
    }


def _moved(values: Mapping[str, Any]) -> Moved:
    return Moved(
        point=values["point"],
        product=values["what"],
        drained_ml=values["drained"],
        filled_ml=values["amount"],
        seen=Seen(values["extra"]),
    )


def _amount_words(values: Mapping[str, Any]) -> str:
    """How much, where a number and its unit don't say it: time, and a fluid that only came out."""
    match LineKind(values["book"]):
        case LineKind.LABOUR:
            return in_words(values["amount"])
        case LineKind.FLUID if not values["amount"] and values["drained"]:
            return _("%(ml)s ml drained") % {"ml": values["drained"]}
    return ""


def in_words(minutes: int) -> str:
    """``1 h 30 min`` for 90."""
    hours, rest = divmod(minutes, MINUTES_AN_HOUR)
    parts = [_("%s h") % hours if hours else "", _("%s min") % rest if rest else ""]
    return " ".join(part for part in parts if part)


def _note(values: Mapping[str, Any]) -> str:
    """What else is worth reading of a row, by its book."""
    match LineKind(values["book"]):
        case LineKind.LABOUR | LineKind.SUBLET:
            return str(values["extra"])
        case LineKind.FLUID if values["drained"]:
            condition = FluidCondition(values["extra"]).label
            if not values["amount"]:
                return str(condition)
            return _("drained %(ml)s ml, %(condition)s") % {"ml": values["drained"], "condition": condition}
        case LineKind.PART if values["shape"] != PartCondition.NEW:
            return str(PartCondition(values["shape"]).label)
    return ""


def _payer(values: Mapping[str, Any]) -> str:
    """Who pays instead of the customer, and why."""
    if values["payer"] == Payer.CUSTOMER:
        return ""
    return ": ".join(filter(None, [str(Payer(values["payer"]).label), values["payer_reason"]]))


def _price(value: int | None) -> Decimal | None:
    return None if value is None else from_e4(value)


def _price_unit(values: Mapping[str, Any]) -> str:
    """What a price is for: fluids are kept in millilitres and priced by the litre."""
    is_fluid = values["book"] == LineKind.FLUID
    return str((Unit.LITRE if is_fluid else Unit(values["measure"])).label)


def cost_rate_at(person: Person, *, day: date) -> int | None:
    """What an hour of a person costs the shop on that day, in 1/10,000; None before their first wage."""
    wage = Wage.objects.filter(person=person, from_date__lte=day).order_by("-from_date").first()
    return cost_of_an_hour(wage) if wage is not None else None

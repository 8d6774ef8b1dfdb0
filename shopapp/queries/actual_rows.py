"""One row of the actual book: which book it is in, what it is called, and what it sells for off the plan."""

import re

from shopapp.calc.money import from_e4
from shopapp.models import (
    FeeEntry,
    FluidEntry,
    LineKind,
    PartCondition,
    PartUsed,
    SubletEntry,
    TimeEntry,
    TimeKind,
)
from shopapp.queries.prices import (
    Frozen,
    extra_price,
    list_price,
    own_part_price,
    usual_labour_price,
)

type AnyRow = PartUsed | TimeEntry | FluidEntry | SubletEntry | FeeEntry
# (the column by which a billed line claims it, its id): ("part_used", 7)
type RowKey = tuple[str, int]

MODELS: dict[str, type[AnyRow]] = {
    "part_used": PartUsed,
    "time_entry": TimeEntry,
    "fluid_entry": FluidEntry,
    "sublet_entry": SubletEntry,
    "fee_entry": FeeEntry,
}
KINDS = {
    "part_used": LineKind.PART,
    "time_entry": LineKind.LABOUR,
    "fluid_entry": LineKind.FLUID,
    "sublet_entry": LineKind.SUBLET,
    "fee_entry": LineKind.FEE,
}
BOOK_OF = {kind: book for book, kind in KINDS.items()}
_SLUG = re.compile(r"([a-z_]+)-([1-9][0-9]{0,17})")


def slug_of(key: RowKey) -> str:
    """How an address names a row: part_used-7."""
    return f"{key[0]}-{key[1]}"


def key_of(slug: str) -> RowKey | None:
    """The row that an address names, or ``None`` for nonsense."""
    match = _SLUG.fullmatch(slug)
    return (match[1], int(match[2])) if match is not None and match[1] in MODELS else None


def row_words(row: AnyRow) -> str:
    """What a row is called."""
    match row:
        case PartUsed():
            return " ".join(filter(None, [row.description, row.number]))
        case TimeEntry():
            return str(TimeKind(row.kind).label)
        case FluidEntry():
            return row.product
        case SubletEntry():
            return f"{row.description} ({row.supplier})"
        case FeeEntry():
            return row.description


def price_off_plan(row: AnyRow) -> Frozen:
    """Cost, price and rule of a row that fulfils no planned line. Two queries at most."""
    match row:
        case PartUsed(condition=PartCondition.CUSTOMERS_OWN):
            return own_part_price()
        case PartUsed() if row.part is not None:
            return list_price(row.part)
        case TimeEntry():
            return usual_labour_price()
    return extra_price(None if row.unit_cost_e4 is None else from_e4(row.unit_cost_e4))

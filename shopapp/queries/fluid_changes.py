"""The fluids of a job reckoned up by point, in words: what came out, what went in, what is to be asked."""

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shopapp.calc.fluids import (
    Ask,
    Balance,
    Change,
    Kind,
    Moved,
    Question,
    changes_of,
    point_key,
    reckon,
)
from shopapp.calc.units import Unit
from shopapp.queries.actuals import ActualBook
from shopapp.queries.figures import volume, with_unit

IMPERIAL = (Unit.IMPERIAL_FLUID_OUNCE, Unit.IMPERIAL_QUART, Unit.IMPERIAL_GALLON)
_ASKED: Mapping[Ask, Any] = {
    Ask.MILKY: gettext_lazy("It came out milky: find where the water gets in."),
    Ask.METAL: gettext_lazy("There was metal in it: look where it comes from."),
    Ask.FUEL: gettext_lazy("There was fuel in it: find where it gets in."),
    Ask.LOST: gettext_lazy("%(amount)s were missing. Where did they go?"),
    Ask.LOST_OR_LEFT: gettext_lazy("%(amount)s less came out than fits. Lost before, or still inside?"),
    Ask.OVER: gettext_lazy("%(amount)s more went in than fits. Is the amount right?"),
    Ask.LEFT: gettext_lazy("%(amount)s of the old fluid stayed in. Did it drain to the end?"),
}
_GAINED: Mapping[Kind, Any] = {
    Kind.GEAR_OIL: gettext_lazy("%(amount)s more came out than belongs in. Is there water in it?"),
    Kind.ENGINE_OIL: gettext_lazy("%(amount)s more came out than belongs in. Is there fuel or water in it?"),
}
_GAINED_OTHER = gettext_lazy("%(amount)s more came out than belongs in. What got into it?")


@dataclass(frozen=True, kw_only=True)
class Capacity:
    """How much goes into one point, as the spec book says it."""

    point: str
    ml: int
    words: str
    product: str
    level_to: str
    page: str
    is_imperial: bool

    @property
    def fill(self) -> str:
        """What a tap puts into the form of a fluid, as JSON by the names of its fields."""
        return json.dumps({"point": self.point, "product": self.product}, ensure_ascii=False)


@dataclass(frozen=True, kw_only=True)
class FluidChange:
    """One change of one point: the amounts, what fits, and what it says; odd is what has to be asked.

    ``number`` counts the changes of a point, where there was more than one (else None).
    """

    job: int
    point: str
    number: int | None
    amounts: str
    fits: str
    said: tuple[str, ...]
    is_odd: bool


def capacity_from(row: Mapping[str, Any], *, locale: str) -> Capacity:
    """A capacity from the columns of its row in the spec book."""
    return Capacity(
        point=row["point"],
        ml=row["ml"],
        words=with_unit(row["amount_e4"], unit=row["unit"], locale=locale),
        product=row["product"],
        level_to=row["level_to"],
        page=row["page"],
        is_imperial=row["unit"] in IMPERIAL,
    )


def fluid_changes(
    book: ActualBook, *, capacities: Sequence[Capacity] = (), locale: str
) -> tuple[FluidChange, ...]:
    """What the standing fluid rows of a book come to, by job and point. No query.

    Nothing where the book has older rows than it shows: half of the rows would say what is not so.
    """
    if book.has_older:
        return ()
    known = {point_key(one.point): one for one in capacities}
    by_point: defaultdict[tuple[int, str], list[Moved]] = defaultdict(list)
    for row in book.rows:
        if row.moved is not None and not row.is_struck:
            by_point[row.job, point_key(row.moved.point)].append(row.moved)
    return tuple(
        change
        for (job, key), rows in by_point.items()
        for change in _changes(rows, job=job, capacity=known.get(key), locale=locale)
    )


def _changes(
    rows: Sequence[Moved], *, job: int, capacity: Capacity | None, locale: str
) -> tuple[FluidChange, ...]:
    found = changes_of(rows, capacity_ml=capacity.ml if capacity is not None else None)
    is_imperial = capacity is not None and capacity.is_imperial
    return tuple(
        _told(
            change,
            job=job,
            point=capacity.point if capacity is not None else rows[0].point,
            number=place if len(found) > 1 else None,
            fits=_fits(capacity),
            write=lambda ml: volume(ml, locale=locale, is_imperial=is_imperial),
        )
        for place, change in enumerate(found, start=1)
    )


def _told(change: Change, *, write: Any, **facts: Any) -> FluidChange:
    found = reckon(change)
    asked = tuple(_question(one, kind=change.kind, write=write) for one in found.questions)
    return FluidChange(
        amounts=_amounts(change, write=write),
        said=asked or _plainly(change, balance=found.balance),
        is_odd=bool(asked),
        **facts,
    )


def _amounts(change: Change, *, write: Any) -> str:
    facts = {"drained": write(change.drained_ml), "filled": write(change.filled_ml)}
    if not change.drained_ml:
        return _("%(filled)s were added, nothing was drained") % facts
    if not change.filled_ml:
        return _("%(drained)s came out, nothing is filled in yet") % facts
    return _("%(drained)s came out, %(filled)s went in") % facts


def _fits(capacity: Capacity | None) -> str:
    if capacity is None:
        return ""
    level = _(", to %(level)s") % {"level": capacity.level_to} if capacity.level_to else ""
    facts = {"amount": capacity.words, "level": level, "page": capacity.page}
    return _("%(amount)s fit%(level)s (spec book, %(page)s)") % facts


def _question(one: Question, *, kind: Kind, write: Any) -> str:
    words = _GAINED.get(kind, _GAINED_OTHER) if one.ask == Ask.GAINED else _ASKED[one.ask]
    return str(words) % {"amount": write(one.amount_ml)} if one.amount_ml is not None else str(words)


def _plainly(change: Change, *, balance: Balance) -> tuple[str, ...]:
    """What there is to say where nothing has to be asked."""
    if balance == Balance.UNKNOWN:
        return (_("How much fits is not in the spec book, so nothing can be compared yet."),)
    if not change.filled_ml:
        return (_("As much came out as fits."),)
    if not change.drained_ml:
        return (_("Topped up."),)
    return (_("As much went in as came out."),)

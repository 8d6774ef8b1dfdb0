"""The used-oil log: containers with what is in them, what went in, what was handed over."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy

from shopapp import access
from shopapp.calc.waste import Fullness, Level, level_of
from shopapp.models import (
    FluidCondition,
    Person,
    WasteContainer,
    WasteHandOver,
    WasteKind,
    WastePour,
)
from shopapp.queries.figures import volume
from shopapp.queries.vessels import boat_words

MOST_ROWS, MOST_ENDED = 200, 20
POUR, HAND_OVER = "pour", "hand_over"
LONGEST_NUMBER = 9
FULLNESS: Mapping[Fullness, Any] = {
    Fullness.EMPTY: gettext_lazy("empty"),
    Fullness.SOME: "",
    Fullness.NEARLY_FULL: gettext_lazy("nearly full"),
    Fullness.OVER: gettext_lazy("more in it than it holds"),
    Fullness.SHORT: gettext_lazy("more was handed over than went in by the book"),
}


@dataclass(frozen=True, kw_only=True)
class ContainerCard:
    """A container with its level in words; ``share`` of its size in whole per cent, at most 100."""

    pk: int
    name: str
    kind: str
    kind_word: str
    level: str
    level_ml: int
    size: str
    size_ml: int
    share: int
    fullness: str
    fullness_word: str
    is_ended: bool
    begun_at: datetime
    ended_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class LogRow:
    """One thing that went in or out; ``struck`` says why it counts no more (empty: it counts)."""

    slug: str
    is_out: bool
    volume: str
    what: str
    condition: str
    work_order_pk: int | None
    work_order: str
    paper: str
    who: str
    happened_at: datetime
    is_struck: bool
    struck: str
    may_strike: bool


@dataclass(frozen=True, kw_only=True)
class UsedOilPage:
    """The containers in use, and the last that were put away."""

    containers: tuple[ContainerCard, ...]
    ended: tuple[ContainerCard, ...]
    is_desk: bool


@dataclass(frozen=True, kw_only=True)
class ContainerPage:
    """One container and its newest rows; ``has_older`` when there are more than these."""

    container: ContainerCard
    rows: tuple[LogRow, ...]
    has_older: bool
    is_desk: bool


def standing_pours() -> QuerySet[WastePour]:
    """What went in and counts: neither struck itself nor by its fluid entry."""
    stands = Q(fluid_entry=None) | Q(fluid_entry__struck_at=None)
    return WastePour.objects.filter(stands, struck_at=None)


def with_level(containers: QuerySet[WasteContainer]) -> QuerySet[WasteContainer]:
    """The containers, each with ``poured_ml`` and ``handed_over_ml`` of its standing rows."""
    taken = WasteHandOver.objects.filter(struck_at=None)
    return containers.annotate(poured_ml=_sum(standing_pours()), handed_over_ml=_sum(taken))


def _sum(rows: QuerySet[Any]) -> Coalesce:
    mine = rows.filter(container=OuterRef("pk")).order_by().values("container")
    return Coalesce(Subquery(mine.annotate(sum=Sum("volume_ml")).values("sum")), Value(0))


def level(container: WasteContainer) -> Level:
    """The level of a container fetched by ``with_level``. No query."""
    poured: int = container.poured_ml  # type: ignore[attr-defined]  # annotated
    taken: int = container.handed_over_ml  # type: ignore[attr-defined]  # annotated
    return level_of([poured], handed_over_ml=[taken], size_ml=container.size_ml)


def used_oil_page(*, viewer: Person, locale: str) -> UsedOilPage:
    """Two queries."""
    rows = with_level(WasteContainer.objects.all())
    ended = rows.filter(ended_at__isnull=False).order_by("-ended_at", "-pk")[:MOST_ENDED]
    return UsedOilPage(
        containers=tuple(
            container_card(row, locale=locale) for row in rows.filter(ended_at=None).order_by("name", "pk")
        ),
        ended=tuple(container_card(row, locale=locale) for row in ended),
        is_desk=access.may_use_desk(viewer),
    )


def container_page(row: WasteContainer, *, viewer: Person, locale: str) -> ContainerPage:
    """The page of a container fetched by ``with_level``. Two queries."""
    pours = told_pours().filter(container=row)
    taken = WasteHandOver.objects.filter(container=row).select_related("logged_by")
    newest = ("-happened_at", "-pk")
    rows = [
        *(_pour(one, viewer=viewer, locale=locale) for one in pours.order_by(*newest)[: MOST_ROWS + 1]),
        *(_hand_over(one, viewer=viewer, locale=locale) for one in taken.order_by(*newest)[: MOST_ROWS + 1]),
    ]
    rows.sort(key=lambda one: one.happened_at, reverse=True)
    return ContainerPage(
        container=container_card(row, locale=locale),
        rows=tuple(rows[:MOST_ROWS]),
        has_older=len(rows) > MOST_ROWS,
        is_desk=access.may_use_desk(viewer),
    )


def row_of(slug: str) -> WastePour | WasteHandOver | None:
    """The row that an address names, such as ``pour-7``, with all that is told of it; None where none is."""
    name, _dash, number = slug.partition("-")
    if not (number.isascii() and number.isdigit() and len(number) <= LONGEST_NUMBER):
        return None
    match name:
        case "pour":
            return told_pours().filter(pk=int(number)).first()
        case "hand_over":
            taken = WasteHandOver.objects.select_related("logged_by", "container")
            return taken.filter(pk=int(number)).first()
    return None


def log_row(row: WastePour | WasteHandOver, *, viewer: Person, locale: str) -> LogRow:
    """A row that was fetched by ``row_of``, in words. No query."""
    if isinstance(row, WastePour):
        return _pour(row, viewer=viewer, locale=locale)
    return _hand_over(row, viewer=viewer, locale=locale)


def told_pours() -> QuerySet[WastePour]:
    """What went in, with all that is told of it."""
    return WastePour.objects.select_related("container", "logged_by", "fluid_entry__job__work_order__vessel")


def container_card(row: WasteContainer, *, locale: str) -> ContainerCard:
    """A container fetched by ``with_level``, in words. No query."""
    found = level(row)
    return ContainerCard(
        pk=row.pk,
        name=row.name,
        kind=row.kind,
        kind_word=str(WasteKind(row.kind).label),
        level=volume(found.ml, locale=locale),
        level_ml=found.ml,
        size=volume(row.size_ml, locale=locale),
        size_ml=row.size_ml,
        share=min(max(found.ml * 100 // row.size_ml, 0), 100),
        fullness=found.fullness.value,
        fullness_word=str(FULLNESS[found.fullness]),
        is_ended=row.ended_at is not None,
        begun_at=row.begun_at,
        ended_at=row.ended_at,
    )


def _pour(row: WastePour, *, viewer: Person, locale: str) -> LogRow:
    entry, is_desk = row.fluid_entry, access.may_use_desk(viewer)
    # whose boat it came from is not for every technician to see
    visit = entry.job.work_order if entry is not None and is_desk else None
    is_struck = row.struck_at is not None or (entry is not None and entry.struck_at is not None)
    struck = row.struck_reason or (entry.struck_reason if entry is not None else "")
    is_seen = row.condition and row.condition != FluidCondition.NOT_DRAINED
    return LogRow(
        slug=f"{POUR}-{row.pk}",
        is_out=False,
        volume=volume(row.volume_ml, locale=locale),
        what=f"{entry.product}, {entry.point}" if entry is not None else row.what,
        condition=str(FluidCondition(row.condition).label) if is_seen else "",
        work_order_pk=visit.pk if visit is not None else None,
        work_order=f"{visit.number} {boat_words(visit.vessel)}" if visit is not None else "",
        paper="",
        who=row.logged_by.name,
        happened_at=row.happened_at,
        is_struck=is_struck,
        struck=struck if is_struck else "",
        may_strike=not is_struck and (is_desk or row.logged_by_id == viewer.pk),
    )


def _hand_over(row: WasteHandOver, *, viewer: Person, locale: str) -> LogRow:
    return LogRow(
        slug=f"{HAND_OVER}-{row.pk}",
        is_out=True,
        volume=volume(row.volume_ml, locale=locale),
        what=row.collector,
        condition="",
        work_order_pk=None,
        work_order="",
        paper=row.paper_number,
        who=row.logged_by.name,
        happened_at=row.happened_at,
        is_struck=row.struck_at is not None,
        struck=row.struck_reason,
        may_strike=row.struck_at is None and access.may_use_desk(viewer),
    )

"""What the shop holds for a customer now, and what came in, went out and was moved before."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import OuterRef, QuerySet, Subquery

from shopapp.models import CLOSED_STAGES, CustodyEntry, CustodyMove, Stage, Thing, WorkOrder
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip

VISITS_SHOWN = 6


@dataclass(frozen=True, kw_only=True)
class HeldThing:
    """One kind of thing: where it is, since when, and who brought or took it."""

    thing: str
    word: str
    is_here: bool
    place: str
    who: str
    note: str
    since: datetime


@dataclass(frozen=True, kw_only=True)
class CustodyRow:
    """One line of the log."""

    happened_at: datetime
    word: str
    move: str
    is_here: bool
    who: str
    place: str
    note: str
    recorded_by: str


@dataclass(frozen=True, kw_only=True)
class CustodyPage:
    """What is here, what is out, and the log, newest first; ``may_move``: something may be written."""

    pk: int
    number: str
    boat: str
    customer: str
    stage: StageChip
    is_open: bool
    is_boat_here: bool
    held: tuple[HeldThing, ...]
    log: tuple[CustodyRow, ...]


def custody_page(work_order: WorkOrder) -> CustodyPage:
    """The page about a visit that was fetched with its ``vessel`` and ``customer``. One query."""
    entries = list(_entries(work_order).select_related("recorded_by"))
    latest = _latest(entries)
    return CustodyPage(
        pk=work_order.pk,
        number=work_order.number,
        boat=boat_words(work_order.vessel),
        customer=work_order.customer.name,
        stage=stage_chip(work_order.stage),
        is_open=work_order.stage not in CLOSED_STAGES,
        is_boat_here=work_order.is_boat_here,
        held=tuple(_held(latest[thing]) for thing in Thing if thing in latest),
        log=tuple(_row(entry) for entry in reversed(entries)),
    )


def things_here(work_order: WorkOrder) -> frozenset[str]:
    """What the shop holds now (values of Thing). One query.

    A boat nobody wrote an entry for is where its work order says.
    """
    latest = _latest(_entries(work_order))
    here = {thing for thing, entry in latest.items() if entry.move != CustodyMove.OUT}
    is_boat_told = Thing.BOAT in latest
    return frozenset(here | ({Thing.BOAT.value} if work_order.is_boat_here and not is_boat_told else set()))


def boat_spans(work_order: WorkOrder) -> tuple[tuple[datetime, datetime | None], ...]:
    """From when until when the boat was in the shop on this visit; ``None``: it still is. One query.

    Days at home during a back-order are in no span, so nobody is charged for storing them. A visit without
    entries lasted from its opening until it was gone.
    """
    moves = [
        (entry.move, entry.happened_at) for entry in _entries(work_order) if entry.thing == Thing.BOAT
    ] or _moves_untold(work_order)
    spans: list[tuple[datetime, datetime | None]] = []
    for move, moment in moves:
        is_here = bool(spans) and spans[-1][1] is None
        if move == CustodyMove.OUT and is_here:
            spans[-1] = (spans[-1][0], moment)
        elif move != CustodyMove.OUT and not is_here:
            spans.append((moment, None))
    return tuple(spans)


def _moves_untold(work_order: WorkOrder) -> list[tuple[str, datetime]]:
    if work_order.stage == Stage.BOOKED:
        return []
    came: list[tuple[str, datetime]] = [(CustodyMove.IN, work_order.opened_at)]
    return came if work_order.gone_at is None else [*came, (CustodyMove.OUT, work_order.gone_at)]


def _entries(work_order: WorkOrder) -> "QuerySet[CustodyEntry]":
    return CustodyEntry.objects.filter(work_order=work_order).order_by("pk")


def _latest(entries: Iterable[CustodyEntry]) -> Mapping[str, CustodyEntry]:
    """Thing → its last entry; later ones replace earlier ones."""
    return {entry.thing: entry for entry in entries}


def _held(entry: CustodyEntry) -> HeldThing:
    return HeldThing(
        thing=entry.thing,
        word=str(Thing(entry.thing).label),
        is_here=entry.move != CustodyMove.OUT,
        place=entry.place,
        who=entry.who,
        note=entry.note,
        since=entry.happened_at,
    )


def _row(entry: CustodyEntry) -> CustodyRow:
    return CustodyRow(
        happened_at=entry.happened_at,
        word=str(Thing(entry.thing).label),
        move=str(CustodyMove(entry.move).label),
        is_here=entry.move != CustodyMove.OUT,
        who=entry.who,
        place=entry.place,
        note=entry.note,
        recorded_by=entry.recorded_by.name,
    )


@dataclass(frozen=True, kw_only=True)
class OpenVisit:
    """A visit of a boat that is not over: here, or at home meanwhile since ``left_at``."""

    pk: int
    number: str
    stage: StageChip
    is_boat_here: bool
    place: str
    left_at: datetime | None


def open_visits(vessel_pk: int) -> tuple[OpenVisit, ...]:
    """Visits of a boat that are not over, newest first. One query."""
    went = CustodyEntry.objects.filter(work_order=OuterRef("pk"), thing=Thing.BOAT, move=CustodyMove.OUT)
    last = went.order_by("-pk").values("happened_at")[:1]
    rows = WorkOrder.objects.open().filter(vessel=vessel_pk).order_by("-opened_at", "-pk")
    facts = rows.values_list("pk", "number", "stage", "is_boat_here", "place", Subquery(last))
    return tuple(
        OpenVisit(
            pk=pk,
            number=number,
            stage=stage_chip(stage),
            is_boat_here=is_here,
            place=place,
            left_at=None if is_here else left_at,
        )
        for pk, number, stage, is_here, place, left_at in facts[:VISITS_SHOWN]
    )

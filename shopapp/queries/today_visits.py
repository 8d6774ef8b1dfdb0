"""Open visits as the desk looks at them: due, waiting, ready, come in, at home, and all the rest."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Subquery
from django.utils.translation import gettext as _

from shopapp.calc.errors import BadInput
from shopapp.models import (
    CustodyEntry,
    CustodyMove,
    Hold,
    JobAssignment,
    PlacedHold,
    QuoteRevision,
    RevisionState,
    Stage,
    Thing,
    ToldHow,
    WorkOrder,
)
from shopapp.queries.people import Colleague
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip

ROWS_SHOWN = 50
ORDER = {stage: place for place, stage in enumerate(Stage.values)}


@dataclass(frozen=True, kw_only=True)
class WantedVisits:
    """What was asked for: one stage, one hold, one person (who works on it or chases it); "" is all."""

    stage: str = ""
    hold: str = ""
    person: str = ""


@dataclass(frozen=True, kw_only=True)
class HoldChip:
    """A hold as the chip shows it."""

    code: str
    word: str


@dataclass(frozen=True, kw_only=True)
class OpenHold:
    """What a visit waits for, since when, and who chases it when next; ``is_due``: that day has come."""

    chip: HoldChip
    kind: str
    note: str
    since: datetime
    chaser_pk: int
    chaser: str
    chase_date: date
    is_due: bool


@dataclass(frozen=True, kw_only=True)
class VisitRow:
    """An open visit with all that a section may show of it."""

    pk: int
    number: str
    stage: StageChip
    stage_value: str
    boat: str
    customer: str
    complaint: str
    opened_at: datetime
    opened_date: date
    promised_date: date | None
    promised_word: str
    is_late: bool
    holds: tuple[OpenHold, ...]
    technicians: tuple[Colleague, ...]
    asked_at: datetime | None
    told_at: datetime | None
    told_how: str
    is_boat_here: bool
    home_since: datetime | None
    home_with: str

    @property
    def is_at_home(self) -> bool:
        """The boat went home while its visit stays open."""
        return not self.is_boat_here and self.stage_value != Stage.BOOKED

    @property
    def people(self) -> frozenset[int]:
        """Who works on it or chases something of it."""
        return frozenset({one.pk for one in self.technicians} | {hold.chaser_pk for hold in self.holds})


@dataclass(frozen=True, kw_only=True)
class Section:
    """Visits of one kind; ``count`` may be more than is shown."""

    code: str
    heading: str
    rows: tuple[VisitRow, ...]
    count: int


@dataclass(frozen=True, kw_only=True)
class Filter:
    """A value one can ask for, with how many open visits have it."""

    value: str
    chip: StageChip | HoldChip | None
    word: str
    count: int
    is_current: bool


@dataclass(frozen=True, kw_only=True)
class Visits:
    """Every open visit that was asked for, in sections; none is in no section."""

    sections: tuple[Section, ...]
    stages: tuple[Filter, ...]
    holds: tuple[Filter, ...]
    people: tuple[Filter, ...]
    count: int
    is_filtered: bool


def open_visits(wanted: WantedVisits, *, now: datetime, zone: ZoneInfo) -> Visits:
    """Every open visit, sorted into sections; a visit may be in several, and is in one at least.

    Three queries, whatever the shop holds. Raises BadInput for a stage, hold or person there is not.
    """
    _check(wanted)
    today = now.astimezone(zone).date()
    rows = _rows(today=today, zone=zone)
    asked = [row for row in rows if _is_asked_for(row, wanted)]
    return Visits(
        sections=_sections(asked, today=today),
        stages=_stage_filters(rows, current=wanted.stage),
        holds=_hold_filters(rows, current=wanted.hold),
        people=_person_filters(rows, current=wanted.person),
        count=len(rows),
        is_filtered=wanted != WantedVisits(),
    )


def _check(wanted: WantedVisits) -> None:
    if wanted.stage and wanted.stage not in Stage.values:
        raise BadInput("stage", wanted.stage, ", ".join(Stage.values))
    if wanted.hold and wanted.hold not in Hold.values:
        raise BadInput("hold", wanted.hold, ", ".join(Hold.values))
    if wanted.person and not (wanted.person.isascii() and wanted.person.isdigit()):
        raise BadInput("person", wanted.person, _("the number of a person"))


def _is_asked_for(row: VisitRow, wanted: WantedVisits) -> bool:
    return (
        wanted.stage in ("", row.stage_value)
        and (not wanted.hold or any(hold.kind == wanted.hold for hold in row.holds))
        and (not wanted.person or int(wanted.person) in row.people)
    )


def _rows(*, today: date, zone: ZoneInfo) -> list[VisitRow]:
    asked = QuoteRevision.objects.filter(quote__work_order=OuterRef("pk"), state=RevisionState.SENT)
    left = CustodyEntry.objects.filter(
        work_order=OuterRef("pk"), thing=Thing.BOAT, move=CustodyMove.OUT
    ).order_by("-pk")
    orders = WorkOrder.objects.open().annotate(
        asked_at=Subquery(asked.order_by("-sent_at").values("sent_at")[:1]),
        left_at=Subquery(left.values("happened_at")[:1]),
        left_with=Subquery(left.values("who")[:1]),
    )
    holds, crews = _holds(today), _crews()
    return [
        _row(order, holds=holds[order.pk], crew=crews[order.pk], today=today, zone=zone)
        for order in orders.select_related("customer", "vessel").order_by("opened_at", "pk")
    ]


def _holds(today: date) -> Mapping[int, Sequence[OpenHold]]:
    rows = PlacedHold.objects.filter(released_at=None).exclude(
        work_order__stage__in=(Stage.GONE, Stage.CANCELLED)
    )
    found: dict[int, list[OpenHold]] = defaultdict(list)
    for row in rows.select_related("chaser").order_by("chase_date", "pk"):
        found[row.work_order_id].append(_hold(row, today=today))
    return found


def _hold(row: PlacedHold, *, today: date) -> OpenHold:
    return OpenHold(
        chip=hold_chip(row.kind),
        kind=row.kind,
        note=row.note,
        since=row.placed_at,
        chaser_pk=row.chaser_id,
        chaser=row.chaser.name,
        chase_date=row.chase_date,
        is_due=row.chase_date <= today,
    )


def hold_chip(kind: str) -> HoldChip:
    """The chip of a hold."""
    return HoldChip(code=f"hold-{kind}", word=str(Hold(kind).label))


def _crews() -> Mapping[int, Sequence[Colleague]]:
    rows = JobAssignment.objects.exclude(job__work_order__stage__in=(Stage.GONE, Stage.CANCELLED))
    found: dict[int, dict[int, Colleague]] = defaultdict(dict)
    for order, pk, name in rows.order_by("person__name", "pk").values_list(
        "job__work_order", "person", "person__name"
    ):
        found[order][pk] = Colleague(pk=pk, name=name)
    return defaultdict(tuple, {order: tuple(crew.values()) for order, crew in found.items()})


def _row(
    order: WorkOrder, *, holds: Iterable[OpenHold], crew: Iterable[Colleague], today: date, zone: ZoneInfo
) -> VisitRow:
    known = vars(order)  # the annotated values stand among the row's own
    promised = order.promised_date
    is_late = promised is not None and promised < today and order.stage != Stage.READY
    return VisitRow(
        pk=order.pk,
        number=order.number,
        stage=stage_chip(order.stage),
        stage_value=order.stage,
        boat=boat_words(order.vessel),
        customer=order.customer.name,
        complaint=order.complaint,
        opened_at=order.opened_at,
        opened_date=order.opened_at.astimezone(zone).date(),
        promised_date=promised,
        promised_word=_promised_word(promised, today=today) if order.stage != Stage.READY else "",
        is_late=is_late,
        holds=tuple(holds),
        technicians=tuple(crew),
        asked_at=known["asked_at"],
        told_at=order.told_at,
        told_how=str(ToldHow(order.told_how).label) if order.told_how else "",
        is_boat_here=order.is_boat_here,
        home_since=known["left_at"],
        home_with=known["left_with"] or "",
    )


def _promised_word(promised: date | None, *, today: date) -> str:
    if promised is None:
        return ""
    if promised < today:
        return _("late")
    words = {today: _("today"), today + timedelta(days=1): _("tomorrow")}
    return words.get(promised, "")


def _sections(rows: Sequence[VisitRow], *, today: date) -> tuple[Section, ...]:
    due = sorted((row for row in rows if row.promised_word), key=lambda row: row.promised_date or today)
    waits = sorted((row for row in rows if _waits(row)), key=_pressing)
    ready = sorted((row for row in rows if row.stage_value == Stage.READY), key=_told)
    came = [row for row in rows if row.opened_date == today and row.stage_value != Stage.BOOKED]
    # a boat at home that is due, waits or is ready stands there: once is enough, and that is more urgent
    urgent = {row.pk for row in (*due, *waits, *ready)}
    home = [row for row in rows if row.is_at_home and row.pk not in urgent]
    told = {row.pk for row in (*due, *waits, *ready, *came, *home)}
    rest = sorted((row for row in rows if row.pk not in told), key=lambda row: ORDER[row.stage_value])
    named = (
        ("due", _("Promised: late, today, tomorrow"), due),
        ("waits", _("Waits"), waits),
        ("ready", _("Ready, not gone"), ready),
        ("came", _("Came in today"), came),
        ("home", _("At home, visit still open"), home),
        ("rest", _("All others in our care"), rest),
    )
    return tuple(
        Section(code=code, heading=heading, rows=tuple(some[:ROWS_SHOWN]), count=len(some))
        for code, heading, some in named
        if some
    )


def _waits(row: VisitRow) -> bool:
    return bool(row.holds) or row.stage_value == Stage.WITH_CUSTOMER


def _pressing(row: VisitRow) -> tuple[date, datetime]:
    """Whom to chase first; a quote that is out has no day, so it comes behind, the oldest first."""
    chased = min((hold.chase_date for hold in row.holds), default=date.max)
    return chased, row.asked_at or row.opened_at


def _told(row: VisitRow) -> tuple[bool, datetime]:
    return row.told_at is not None, row.told_at or row.opened_at


def _stage_filters(rows: Sequence[VisitRow], *, current: str) -> tuple[Filter, ...]:
    counts = Counter(row.stage_value for row in rows)
    return tuple(
        Filter(
            value=stage,
            chip=stage_chip(stage),
            word=str(Stage(stage).label),
            count=counts[stage],
            is_current=stage == current,
        )
        for stage in Stage.values
        if counts[stage] or stage == current
    )


def _hold_filters(rows: Sequence[VisitRow], *, current: str) -> tuple[Filter, ...]:
    counts = Counter(kind for row in rows for kind in {hold.kind for hold in row.holds})
    return tuple(
        Filter(
            value=kind,
            chip=hold_chip(kind),
            word=str(Hold(kind).label),
            count=counts[kind],
            is_current=kind == current,
        )
        for kind in Hold.values
        if counts[kind] or kind == current
    )


def _person_filters(rows: Sequence[VisitRow], *, current: str) -> tuple[Filter, ...]:
    names = {one.pk: one.name for row in rows for one in row.technicians}
    names |= {hold.chaser_pk: hold.chaser for row in rows for hold in row.holds}
    counts = Counter(pk for row in rows for pk in row.people)
    return tuple(
        Filter(value=str(pk), chip=None, word=name, count=counts[pk], is_current=str(pk) == current)
        for pk, name in sorted(names.items(), key=lambda pair: (pair[1], pair[0]))
    )

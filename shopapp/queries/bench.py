"""The bench: one technician's own jobs, and one job, as a tablet may keep them.

Nothing here holds a price, a cost, a customer's name, telephone or address, whoever looks.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Case, Exists, IntegerField, OuterRef, Prefetch, QuerySet, Value, When
from django.utils import timezone

from shopapp.models import (
    CLOCKED,
    CLOSED_STAGES,
    ClockSpan,
    Job,
    JobAssignment,
    JobNote,
    LineKind,
    Person,
    PlacedHold,
    Stage,
    TestKind,
)
from shopapp.queries.actuals import ActualRow, actual_book
from shopapp.queries.approvals import approved_options
from shopapp.queries.devices import at_the_bench
from shopapp.queries.engines import engine_words
from shopapp.queries.fluid_changes import FluidChange, fluid_changes
from shopapp.queries.job_rules import is_work
from shopapp.queries.jobs import (
    EngineFacts,
    PhotoCard,
    TestRow,
    engine_facts,
    may_log_on,
    photos_of,
    tests_of,
    with_hours,
)
from shopapp.queries.lay_ups import may_lay_up
from shopapp.queries.log_offers import LogOffers, log_offers
from shopapp.queries.next_steps import Next, Offer, next_of_job
from shopapp.queries.open_points import PlannedLine, planned_of
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip
from shopapp.queries.work_orders import HoldChip, hold_chip

MOST_JOBS = 60
MOST_NOTES = 100
# what is in the technician's hands comes first, what waits for others last
FIRST_STAGES = (
    Stage.IN_HAND,
    Stage.TEST,
    Stage.DIAGNOSIS,
    Stage.IN_LINE,
    Stage.HERE,
    Stage.WITH_CUSTOMER,
    Stage.READY,
    Stage.BOOKED,
)


@dataclass(frozen=True, kw_only=True)
class MyJob:
    """One open job of the technician who looks."""

    pk: int
    number: str
    position: int
    boat: str
    place: str
    engine: str
    complaint: str
    stage: StageChip
    promised_date: date | None
    is_late: bool
    holds: tuple[HoldChip, ...]


@dataclass(frozen=True, kw_only=True)
class Running:
    """What somebody is on the clock for, under the tablet's mark; ``job_pk`` None: the shop's own time."""

    mark: str
    since: datetime
    job_pk: int | None
    words: str


@dataclass(frozen=True, kw_only=True)
class MyJobsPage:
    """The open jobs of one technician; ``made_at`` is when they stood like this."""

    clock: Running | None
    jobs: tuple[MyJob, ...]
    has_more: bool
    made_at: datetime


@dataclass(frozen=True, kw_only=True)
class NoteRow:
    """Something that was seen or done, in somebody's own words."""

    text: str
    who: str
    happened_at: datetime


@dataclass(frozen=True, kw_only=True)
class BenchJobPage:
    """One job for the person who works on it.

    ``is_mine``: their name is on it, so a tablet may keep the page for them.
    """

    clock: Running | None
    pk: int
    work_order_pk: int
    number: str
    position: int
    stage: StageChip
    boat: str
    place: str
    engine: EngineFacts | None
    may_lay_up: bool
    complaint: str
    cause: str
    correction: str
    test_word: str
    agreed: str
    planned: tuple[PlannedLine, ...]
    rows: tuple[ActualRow, ...]
    has_older: bool
    fluids: tuple[FluidChange, ...]
    offers: LogOffers
    notes: tuple[NoteRow, ...]
    photos: tuple[PhotoCard, ...]
    tests: tuple[TestRow, ...]
    next: Next
    is_mine: bool
    is_open: bool
    is_ahead: bool
    is_in_hand: bool
    is_in_test: bool
    may_log: bool
    made_at: datetime

    @property
    def planned_parts(self) -> tuple[PlannedLine, ...]:
        return self._planned(LineKind.PART)

    @property
    def planned_fluids(self) -> tuple[PlannedLine, ...]:
        return self._planned(LineKind.FLUID)

    @property
    def planned_hours(self) -> tuple[PlannedLine, ...]:
        return self._planned(LineKind.LABOUR)

    @property
    def usual_fluid(self) -> int | None:
        """The first planned fluid that is not used up."""
        return next((line.pk for line in self.planned_fluids if not line.is_used), None)

    @property
    def usual_hours(self) -> int | None:
        """The first planned work that is not used up; more hours than planned are still hours of the plan."""
        lines = self.planned_hours
        return next((line.pk for line in lines if not line.is_used), lines[-1].pk if lines else None)

    def _planned(self, kind: LineKind) -> tuple[PlannedLine, ...]:
        return tuple(line for line in self.planned if line.kind == kind)


def my_jobs_page(viewer: Person, *, today: date) -> MyJobsPage:
    """The open jobs with the viewer's name on them, the nearest to their hands first. Three queries."""
    found = list(_mine(viewer)[: MOST_JOBS + 1])
    return MyJobsPage(
        clock=running(viewer),
        jobs=tuple(_my_job(row, today=today) for row in found[:MOST_JOBS]),
        has_more=len(found) > MOST_JOBS,
        made_at=timezone.now(),
    )


def _mine(viewer: Person) -> QuerySet[Job]:
    ranks = [When(stage=stage, then=Value(place)) for place, stage in enumerate(FIRST_STAGES)]
    holds = PlacedHold.objects.filter(released_at__isnull=True).order_by("chase_date", "pk")
    return (
        Job.objects.filter(assignments__person=viewer.pk)
        .exclude(stage__in=CLOSED_STAGES)
        .select_related("work_order__vessel", "engine")
        .prefetch_related(Prefetch("work_order__holds", holds))
        .order_by(Case(*ranks, output_field=IntegerField()), "work_order__promised_date", "pk")
    )


def _my_job(row: Job, *, today: date) -> MyJob:
    visit = row.work_order
    promised = visit.promised_date
    return MyJob(
        pk=row.pk,
        number=visit.number,
        position=row.position,
        boat=boat_words(visit.vessel),
        place=_place(row),
        engine=engine_words(row.engine) if row.engine is not None else "",
        complaint=row.complaint,
        stage=stage_chip(row.stage),
        promised_date=promised,
        is_late=promised is not None and promised < today and row.stage != Stage.READY,
        holds=tuple(hold_chip(one, today=today) for one in visit.holds.all()),
    )


def running(viewer: Person) -> Running | None:
    """What the viewer began last, if nothing has ended it. One query."""
    open_ones = ClockSpan.objects.filter(person=viewer.pk, on_at__isnull=False, stopped_at=None, off_at=None)
    span = open_ones.select_related("job__work_order__vessel").order_by("-on_at").first()
    if span is None or span.on_at is None:
        return None
    boat = boat_words(span.job.work_order.vessel) if span.job is not None else ""
    kind = str(dict(CLOCKED)[span.kind])
    words = ": ".join(filter(None, [boat, kind]))
    return Running(mark=str(span.mark), since=span.on_at, job_pk=span.job_id, words=words)


def _place(row: Job) -> str:
    """Where the boat is now, as far as anybody wrote it down."""
    visit = row.work_order
    return (visit.place or visit.vessel.kept_on) if visit.is_boat_here else ""


def bench_jobs(viewer: Person) -> QuerySet[Job]:
    """Jobs as ``job_page`` wants them: with the hours of their engines, and whether each ``is_mine``."""
    own = JobAssignment.objects.filter(job=OuterRef("pk"), person=viewer.pk)
    return with_hours(Job.objects.all()).annotate(is_mine=Exists(own))


def job_page(row: Job, *, viewer: Person, locale: str) -> BenchJobPage:
    """The page of one of ``bench_jobs``; eight queries, one less when nothing is agreed.

    It is read with the rights of the bench even for somebody who may see more: a tablet may keep it.
    """
    chosen = approved_options([row]).get(row.pk, ())
    technician = at_the_bench(viewer)
    book = actual_book([row], viewer=technician)
    offers = log_offers(row, viewer=viewer, locale=locale)
    offer = Offer(is_agreed=any(is_work(one) for one in chosen))
    return BenchJobPage(
        **_facts(row),
        clock=running(viewer),
        agreed=", ".join(option.title for option in chosen),
        planned=planned_of(chosen, job_pk=row.pk),
        rows=book.rows,
        has_older=book.has_older,
        fluids=fluid_changes(book, capacities=offers.capacities, locale=locale),
        offers=offers,
        notes=_notes(row),
        photos=tuple(photos_of([row])[row.pk]),
        tests=tuple(tests_of([row])[row.pk]),
        next=next_of_job(row, viewer=technician, offer=offer),
        made_at=timezone.now(),
    )


def _notes(row: Job) -> tuple[NoteRow, ...]:
    rows = JobNote.objects.filter(job=row, struck_at__isnull=True).select_related("written_by")
    newest = rows.order_by("-happened_at", "-pk")[:MOST_NOTES]
    return tuple(
        NoteRow(text=one.text, who=one.written_by.name, happened_at=one.happened_at)
        for one in reversed(newest)
    )


def _facts(row: Job) -> dict[str, Any]:
    return {
        "pk": row.pk,
        "work_order_pk": row.work_order_id,
        "number": row.work_order.number,
        "position": row.position,
        "stage": stage_chip(row.stage),
        "boat": boat_words(row.work_order.vessel),
        "place": _place(row),
        "engine": engine_facts(row),
        "may_lay_up": may_lay_up(row),
        "complaint": row.complaint,
        "cause": row.cause,
        "correction": row.correction,
        "test_word": str(TestKind(row.test_kind).label),
        "is_mine": row.is_mine,  # type: ignore[attr-defined]  # annotated
        "is_open": row.stage not in CLOSED_STAGES,
        "is_ahead": row.stage in (Stage.BOOKED, Stage.HERE),
        "is_in_hand": row.stage == Stage.IN_HAND,
        "is_in_test": row.stage == Stage.TEST,
        "may_log": may_log_on(row),
    }

"""Jobs as pages show them: the card on a work order, the page at the bench, the findings."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.translation import gettext as _

from shopapp.models import (
    CLOSED_STAGES,
    DECLINED_OUTCOMES,
    Activity,
    EngineMounting,
    FluidCondition,
    HourReading,
    Job,
    JobAssignment,
    JobTest,
    Outcome,
    Person,
    Photo,
    PriceKind,
    Stage,
    TestKind,
)
from shopapp.queries.engines import engine_words, place_words, serial_words
from shopapp.queries.fluid_changes import FluidChange
from shopapp.queries.lay_ups import LaidUp, laid_up, may_lay_up
from shopapp.queries.next_steps import Door, Next, Offer, doors_of_job, next_of_job
from shopapp.queries.people import Colleague
from shopapp.queries.reading_rows import NO_READINGS, Counts, counts_of
from shopapp.queries.steps import NO_STEPS, StepCounts, step_counts
from shopapp.queries.three_books import Books
from shopapp.queries.visit_sides import KinRow
from shopapp.queries.visits import StageChip, stage_chip

# from diagnosis to test, what happens on a job is logged
LOGGED_AT = (Stage.DIAGNOSIS, Stage.WITH_CUSTOMER, Stage.IN_LINE, Stage.IN_HAND, Stage.TEST)


def may_charge_on(job: Job) -> bool:
    """Whether fees and bought-in work are logged on a job now: from arrival until the boat has gone."""
    return job.stage not in (*CLOSED_STAGES, Stage.BOOKED)


NO_OFFER = Offer()


def may_log_on(job: Job) -> bool:
    """Whether work is logged on a job now; what was declined is still put back together."""
    return job.stage in LOGGED_AT or (job.stage == Stage.READY and job.outcome in DECLINED_OUTCOMES)


def was_logged_on(job: Job, *, at: datetime) -> bool:
    """Whether what happened then belongs to a job that is ready now: it came late from a tablet.

    Work that happened before the test that proved the job; without a test, before the job was moved. Two
    queries at most.
    """
    if job.stage != Stage.READY:
        return False
    tested_at = job.tests.filter(has_passed=True).order_by("-tested_at").values_list("tested_at", flat=True)
    moves = Activity.objects.filter(record=f"job:{job.pk}", verb="move job").order_by("-seq")
    until = tested_at.first() or moves.values_list("happened_at", flat=True).first()
    return until is not None and at <= until


@dataclass(frozen=True, kw_only=True)
class PhotoCard:
    """A photo, small, with the words for those who do not see it."""

    pk: int
    sha256: str
    width: int
    height: int
    caption: str
    who: str
    taken_at: datetime


@dataclass(frozen=True, kw_only=True)
class TestRow:
    """A test of a job."""

    word: str
    has_passed: bool
    conditions: str
    remarks: str
    figures: str
    who: str
    tested_at: datetime


@dataclass(frozen=True, kw_only=True)
class EngineFacts:
    """The engine a job is on."""

    words: str
    serial: str
    hours: Decimal | None
    laid_up: LaidUp | None


@dataclass(frozen=True, kw_only=True)
class JobCard:
    """One job on its work order: complaint, cause, correction, evidence, and what comes next."""

    pk: int
    position: int
    stage: StageChip
    is_open: bool
    may_log: bool
    engine: EngineFacts | None
    may_lay_up: bool
    complaint: str
    cause: str
    correction: str
    test_word: str
    outcome: str
    price_word: str
    waiver: str
    technicians: tuple[Colleague, ...]
    photos: tuple[PhotoCard, ...]
    tests: tuple[TestRow, ...]
    next: Next
    doors: tuple[Door, ...]
    # who may still be put on it; nobody for a technician to choose
    others: tuple[Colleague, ...] = ()
    books: Books | None = None
    kin: tuple[KinRow, ...] = ()
    # counts of what was measured, and of that what was out of limits
    readings: Counts = NO_READINGS
    steps: StepCounts = NO_STEPS
    # fluids of which something has to be asked
    fluids: tuple[FluidChange, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Beside:
    """What a card takes from elsewhere on its page."""

    offers: Mapping[int, Offer] = field(default_factory=dict)
    covered: frozenset[int] = frozenset()
    technicians: tuple[Colleague, ...] = ()
    books: Mapping[int, Books] = field(default_factory=dict)
    kin: tuple[KinRow, ...] = ()
    fluids: tuple[FluidChange, ...] = ()


def with_hours(jobs: QuerySet[Job]) -> QuerySet[Job]:
    """The jobs with their engines, with the newest reading (``latest_tenths``) and where each ``hangs``."""
    readings = HourReading.objects.filter(engine=OuterRef("engine")).order_by("-read_at", "-pk")
    mountings = EngineMounting.objects.filter(engine=OuterRef("engine"), until_date=None)
    return jobs.select_related("engine__laid_up_by").annotate(
        latest_tenths=Subquery(readings.values("tenths")[:1]),
        hangs=Subquery(mountings.values("position")[:1]),
    )


def job_cards(jobs: Sequence[Job], *, viewer: Person, beside: Beside) -> tuple[JobCard, ...]:
    """Cards of these jobs (fetched by ``with_hours``), in three queries however many there are."""
    technicians = _technicians_of(jobs)
    photos = photos_of(jobs)
    tests = tests_of(jobs)
    return tuple(
        JobCard(
            **_facts(job),
            technicians=tuple(technicians[job.pk]),
            photos=tuple(photos[job.pk]),
            tests=tuple(tests[job.pk]),
            next=next_of_job(job, viewer=viewer, offer=beside.offers.get(job.pk, NO_OFFER)),
            doors=doors_of_job(job, viewer=viewer, is_agreed=job.pk in beside.covered),
            others=tuple(one for one in beside.technicians if one not in technicians[job.pk]),
            books=beside.books.get(job.pk),
            kin=tuple(one for one in beside.kin if one.of_job == job.pk),
            readings=counts_of(job),
            fluids=tuple(one for one in beside.fluids if one.job == job.position and one.is_odd),
            steps=step_counts(job),
        )
        for job in jobs
    )


def _facts(job: Job) -> dict[str, Any]:
    is_ended = job.outcome != Outcome.OPEN
    return {
        "pk": job.pk,
        "position": job.position,
        "stage": stage_chip(job.stage),
        "is_open": job.stage not in CLOSED_STAGES,
        "may_log": may_log_on(job),
        "engine": engine_facts(job),
        "may_lay_up": may_lay_up(job),
        "complaint": job.complaint,
        "cause": job.cause,
        "correction": job.correction,
        "test_word": str(TestKind(job.test_kind).label),
        "outcome": str(Outcome(job.outcome).label) if is_ended else "",
        "price_word": str(PriceKind(job.price_kind).label),
        "waiver": job.waiver_reason,
    }


def engine_facts(job: Job) -> EngineFacts | None:
    """The engine of a job that was fetched by ``with_hours``; None for a job on the boat itself."""
    if job.engine is None:
        return None
    tenths: int | None = job.latest_tenths  # type: ignore[attr-defined]  # annotated by with_hours
    hangs: str | None = job.hangs  # type: ignore[attr-defined]  # annotated by with_hours
    return EngineFacts(
        words=", ".join(filter(None, [engine_words(job.engine), place_words(hangs or "")])),
        serial=serial_words(job.engine),
        hours=None if tenths is None else Decimal(tenths) / 10,
        laid_up=laid_up(job.engine),
    )


def _technicians_of(jobs: Iterable[Job]) -> Mapping[int, list[Colleague]]:
    rows = JobAssignment.objects.filter(job__in=jobs).order_by("person__name", "pk")
    found = defaultdict(list)
    for job, pk, name in rows.values_list("job_id", "person_id", "person__name"):
        found[job].append(Colleague(pk=pk, name=name))
    return found


def photos_of(jobs: Iterable[Job]) -> Mapping[int, list[PhotoCard]]:
    """Photos by job, oldest first. One query."""
    found = defaultdict(list)
    for photo in Photo.objects.filter(job__in=jobs).select_related("taken_by").order_by("taken_at", "pk"):
        card = PhotoCard(
            pk=photo.pk,
            sha256=photo.sha256,
            width=photo.width,
            height=photo.height,
            caption=photo.caption,
            who=photo.taken_by.name,
            taken_at=photo.taken_at,
        )
        found[photo.job_id].append(card)
    return found


def _figures(test: JobTest) -> str:
    """What the run came to, what was on board, what it warned of, and the oil afterwards."""
    oil = _("gear oil afterwards: %s") % FluidCondition(test.fluid_seen).label if test.fluid_seen else ""
    warned = _("warnings: %s") % test.warnings if test.warnings else ""
    return "; ".join(filter(None, [test.said, test.load, warned, oil]))


def tests_of(jobs: Iterable[Job]) -> Mapping[int, list[TestRow]]:
    """Tests by job, oldest first. One query."""
    found = defaultdict(list)
    for test in JobTest.objects.filter(job__in=jobs).select_related("tested_by").order_by("tested_at", "pk"):
        row = TestRow(
            word=str(TestKind(test.kind).label),
            has_passed=test.has_passed,
            conditions=test.conditions,
            remarks=test.remarks,
            figures=_figures(test),
            who=test.tested_by.name,
            tested_at=test.tested_at,
        )
        found[test.job_id].append(row)
    return found

"""Work orders as a list: the start page of everybody, filtered by stage, cut into pages."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.errors import BadInput
from shopapp.models import CLOSED_STAGES, Hold, Job, JobAssignment, Person, PlacedHold, Stage, WorkOrder
from shopapp.queries.ask_pages import staff
from shopapp.queries.engines import engine_words
from shopapp.queries.paging import Pager, pager_for
from shopapp.queries.people import Colleague
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip


@dataclass(frozen=True, kw_only=True)
class HoldChip:
    """Something a visit waits for; ``is_due``: somebody has to chase it today."""

    code: str
    word: str
    is_due: bool


@dataclass(frozen=True, kw_only=True)
class Row:
    """One visit in the list."""

    pk: int
    number: str
    stage: StageChip
    customer: str
    boat: str
    engines: tuple[str, ...]
    complaint: str
    promised_date: date | None
    is_late: bool
    technicians: tuple[str, ...]
    holds: tuple[HoldChip, ...]
    is_boat_here: bool


@dataclass(frozen=True, kw_only=True)
class StageFilter:
    """A link that shows one stage only, with how many visits stand there."""

    stage: str
    chip: StageChip
    count: int
    is_current: bool


@dataclass(frozen=True, kw_only=True)
class IndexPage:
    """A page of the list."""

    rows: tuple[Row, ...]
    filters: tuple[StageFilter, ...]
    stage: str
    hold: str
    person: int | None
    holds: tuple[tuple[str, str], ...]
    people: tuple[Colleague, ...]
    is_narrowed: bool
    is_closed: bool
    is_desk: bool
    count: int
    pager: Pager


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What was asked for: open or closed visits, one stage or all (""), one hold, one person, the page.

    A person stands for the jobs they are on and the holds they chase.
    """

    stage: str = ""
    hold: str = ""
    person: int | None = None
    is_closed: bool = False
    page: int = 1


def index_page(wanted: Wanted, *, viewer: Person, today: date) -> IndexPage:
    """The newest visits first; a technician sees those with a job of their own. Six queries.

    Raises BadInput for a stage or a hold there is not.
    """
    if wanted.stage and wanted.stage not in Stage.values:
        raise BadInput("stage", wanted.stage, ", ".join(Stage.values))
    if wanted.hold and wanted.hold not in Hold.values:
        raise BadInput("hold", wanted.hold, ", ".join(Hold.values))
    visits = _narrowed(_visible(viewer), wanted)
    counts = _counts(visits, is_closed=wanted.is_closed)
    shown = visits.filter(stage__in=[wanted.stage] if wanted.stage else list(counts))
    pager = pager_for(
        counts.get(wanted.stage, 0) if wanted.stage else sum(counts.values()), wanted=wanted.page
    )
    page = _with_all(shown).order_by("-opened_at", "-pk")[pager.start : pager.end]
    return IndexPage(
        rows=tuple(_row(work_order, today=today) for work_order in page),
        filters=_filters(counts, current=wanted.stage),
        stage=str(Stage(wanted.stage).label) if wanted.stage else "",
        hold=wanted.hold,
        person=wanted.person,
        holds=tuple((one.value, str(one.label)) for one in Hold),
        people=staff() if access.may_use_desk(viewer) else (),
        is_narrowed=bool(wanted.hold or wanted.person),
        is_closed=wanted.is_closed,
        is_desk=access.may_use_desk(viewer),
        count=sum(counts.values()),
        pager=pager,
    )


def _visible(viewer: Person) -> QuerySet[WorkOrder]:
    if access.may_use_desk(viewer):
        return WorkOrder.objects.all()
    own = JobAssignment.objects.filter(person=viewer).values("job__work_order")
    return WorkOrder.objects.filter(pk__in=own)


def _narrowed(visits: QuerySet[WorkOrder], wanted: Wanted) -> QuerySet[WorkOrder]:
    waits = PlacedHold.objects.filter(released_at__isnull=True)
    if wanted.hold:
        visits = visits.filter(pk__in=waits.filter(kind=wanted.hold).values("work_order"))
    if wanted.person is None:
        return visits
    on_jobs = JobAssignment.objects.filter(person=wanted.person).values("job__work_order")
    chased = waits.filter(chaser=wanted.person).values("work_order")
    return visits.filter(Q(pk__in=on_jobs) | Q(pk__in=chased))


def _counts(visits: QuerySet[WorkOrder], *, is_closed: bool) -> Mapping[str, int]:
    """How many visits stand at each stage, in the order of the path; stages without any are left out."""
    some = visits.filter(stage__in=CLOSED_STAGES) if is_closed else visits.exclude(stage__in=CLOSED_STAGES)
    found: dict[str, Any] = dict(some.values_list("stage").annotate(Count("pk")).order_by())
    return {stage: found[stage] for stage in Stage.values if stage in found}


def _filters(counts: Mapping[str, int], *, current: str) -> tuple[StageFilter, ...]:
    return tuple(
        StageFilter(stage=stage, chip=stage_chip(stage), count=count, is_current=stage == current)
        for stage, count in counts.items()
    )


def _with_all(visits: QuerySet[WorkOrder]) -> QuerySet[WorkOrder]:
    people = JobAssignment.objects.select_related("person").order_by("person__name", "pk")
    jobs = Job.objects.select_related("engine").order_by("position")
    holds = PlacedHold.objects.filter(released_at__isnull=True).order_by("chase_date", "pk")
    return visits.select_related("customer", "vessel").prefetch_related(
        Prefetch("jobs", jobs), Prefetch("jobs__assignments", people), Prefetch("holds", holds)
    )


def _row(work_order: WorkOrder, *, today: date) -> Row:
    jobs = list(work_order.jobs.all())
    people = [one.person.name for job in jobs for one in job.assignments.all()]
    promised = work_order.promised_date
    is_waiting = work_order.stage not in (Stage.READY, *CLOSED_STAGES)
    return Row(
        pk=work_order.pk,
        number=work_order.number,
        stage=stage_chip(work_order.stage),
        customer=work_order.customer.name,
        boat=boat_words(work_order.vessel),
        engines=tuple(dict.fromkeys(_engine(job) for job in jobs)),
        complaint=work_order.complaint,
        promised_date=promised,
        is_late=promised is not None and promised < today and is_waiting,
        technicians=tuple(dict.fromkeys(people)),
        holds=tuple(hold_chip(one, today=today) for one in work_order.holds.all()),
        is_boat_here=work_order.is_boat_here or work_order.stage in CLOSED_STAGES,
    )


def hold_chip(one: PlacedHold, *, today: date) -> HoldChip:
    """What a visit waits for, as the chip shows it."""
    return HoldChip(code=f"hold-{one.kind}", word=str(Hold(one.kind).label), is_due=one.chase_date <= today)


def _engine(job: Job) -> str:
    return engine_words(job.engine) if job.engine is not None else _("the boat itself")

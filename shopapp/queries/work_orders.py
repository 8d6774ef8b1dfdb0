"""Work orders as a list: the start page of everybody, filtered by stage, cut into pages."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Prefetch, QuerySet
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.errors import BadInput
from shopapp.models import CLOSED_STAGES, Job, JobAssignment, Person, Stage, WorkOrder
from shopapp.queries.engines import engine_words
from shopapp.queries.paging import Pager, pager_for
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip


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
    is_closed: bool
    is_desk: bool
    count: int
    pager: Pager


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What was asked for: open or closed visits, one stage or all (""), the page."""

    stage: str = ""
    is_closed: bool = False
    page: int = 1


def index_page(wanted: Wanted, *, viewer: Person, today: date) -> IndexPage:
    """The newest visits first; a technician sees those with a job of their own. Four queries.

    Raises BadInput for a stage there is not.
    """
    if wanted.stage and wanted.stage not in Stage.values:
        raise BadInput("stage", wanted.stage, ", ".join(Stage.values))
    visits = _visible(viewer)
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
    return visits.select_related("customer", "vessel").prefetch_related(
        Prefetch("jobs", jobs), Prefetch("jobs__assignments", people)
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
    )


def _engine(job: Job) -> str:
    return engine_words(job.engine) if job.engine is not None else _("the boat itself")

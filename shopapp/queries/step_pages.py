"""The page of a job's steps at the desk, and the shop's step lists."""

from dataclasses import dataclass

from django.db.models import Count

from shopapp import access
from shopapp.models import (
    CLOSED_STAGES,
    Job,
    Person,
    Stage,
    StepCaution,
    StepLine,
    StepList,
    TighteningSpec,
)
from shopapp.queries.jobs import may_log_on
from shopapp.queries.steps import StepRow, steps_of
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class StepsPage:
    """The steps of a job; ``lists`` and ``joints`` are what may be put on it, by id and name."""

    pk: int
    work_order_pk: int
    number: str
    position: int
    boat: str
    rows: tuple[StepRow, ...]
    missing: int
    lists: tuple[tuple[int, str], ...]
    joints: tuple[tuple[int, str], ...]
    has_family: bool
    may_tick: bool
    may_add: bool
    is_desk: bool


@dataclass(frozen=True, kw_only=True)
class ListRow:
    """A step list of the shop."""

    pk: int
    title: str
    lines: int
    is_active: bool


@dataclass(frozen=True, kw_only=True)
class LineRow:
    """A line of a list as it is read."""

    text: str
    is_required: bool
    joint: str
    caution: str


@dataclass(frozen=True, kw_only=True)
class ListPage:
    """A list while it is written; ``conflict`` when somebody else saved meanwhile."""

    pk: int | None
    title: str
    conflict: Conflict | None


def steps_page(job: Job, *, viewer: Person) -> StepsPage:
    """The page of a job fetched by ``find_job``. At most three queries."""
    may_add = job.stage not in (Stage.READY, *CLOSED_STAGES)
    rows = steps_of(job, viewer=viewer)
    family = job.engine.family if job.engine is not None else None
    joints = TighteningSpec.objects.filter(family=family).order_by("joint") if family and may_add else ()
    return StepsPage(
        pk=job.pk,
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        position=job.position,
        boat=boat_words(job.work_order.vessel),
        rows=rows,
        missing=sum(row.is_open for row in rows),
        lists=offered_lists() if may_add else (),
        joints=tuple((one.pk, one.joint) for one in joints),
        has_family=family is not None,
        may_tick=may_log_on(job),
        may_add=may_add,
        is_desk=access.may_use_desk(viewer),
    )


def offered_lists() -> tuple[tuple[int, str], ...]:
    """The lists that may be put on a job. One query."""
    return tuple(StepList.objects.filter(is_active=True).order_by("title").values_list("pk", "title"))


def list_rows() -> tuple[ListRow, ...]:
    """Every list, those in use first. One query."""
    found = StepList.objects.annotate(count=Count("lines")).order_by("-is_active", "title")
    return tuple(
        ListRow(pk=one.pk, title=one.title, lines=one.count, is_active=one.is_active) for one in found
    )


def lines_of(row: StepList) -> tuple[LineRow, ...]:
    """The lines of a list in their order. One query."""
    return tuple(_line(one) for one in row.lines.order_by("position"))


def _line(one: StepLine) -> LineRow:
    return LineRow(
        text=one.text,
        is_required=one.is_required,
        joint=one.joint,
        caution=StepCaution(one.caution).value,
    )

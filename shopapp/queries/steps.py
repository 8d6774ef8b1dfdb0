"""Steps of jobs as pages show them: what is ticked by whom, what is missing, how a joint is drawn."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from django.db.models import Count, F, OuterRef, QuerySet, Subquery

from shopapp import access
from shopapp.calc.ticks import Tick, begun_early, numbers_done
from shopapp.models import Job, JobStep, Person
from shopapp.queries.joints import KeptJoint, KeptStage, joint_of


@dataclass(frozen=True, kw_only=True)
class TickRow:
    """A tick with who did it, and when."""

    pk: int
    stage: int | None
    fastener: int | None
    who: str
    who_pk: int
    happened_at: datetime
    is_struck: bool
    struck: str
    may_strike: bool


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A fastener by its number in the order of the stage; ``place`` moves the pen there."""

    number: int
    place: str
    is_ticked: bool
    is_next: bool


@dataclass(frozen=True, kw_only=True)
class StageView:
    """One stage of a joint: what it says, its fasteners where they are drawn, and how far it is."""

    number: int
    words: str
    spots: tuple[Spot, ...]
    done: int
    is_whole: bool
    is_now: bool
    is_early: bool


@dataclass(frozen=True, kw_only=True)
class JointView:
    """A joint to be tightened; ``sheet`` is the box of its drawing, in the units of the places."""

    name: str
    family: str
    page: str
    pattern: str
    is_makers: bool
    treatment: str
    question: str
    is_looked_up: bool
    sheet: str
    stages: tuple[StageView, ...]


@dataclass(frozen=True, kw_only=True)
class StepRow:
    """One step of a job."""

    pk: int
    text: str
    is_required: bool
    caution: str
    origin: str
    is_done: bool
    waiver: str
    waived_by: str
    joint: JointView | None
    ticks: tuple[TickRow, ...]
    may_remove: bool
    may_waive: bool

    @property
    def is_open(self) -> bool:
        """Whether the job waits for it."""
        return self.is_required and not self.is_done and not self.waiver


@dataclass(frozen=True, kw_only=True)
class StepCounts:
    """How many steps a job has, and how many required ones are neither ticked nor let go."""

    all: int
    missing: int


NO_STEPS = StepCounts(all=0, missing=0)
# a tick beside its step, by the names that it gets there
_OF_TICK = {
    "tick_pk": F("ticks__pk"),
    "tick_stage": F("ticks__stage"),
    "tick_fastener": F("ticks__fastener"),
    "tick_who_pk": F("ticks__ticked_by"),
    "tick_who": F("ticks__ticked_by__name"),
    "tick_at": F("ticks__happened_at"),
    "tick_struck_at": F("ticks__struck_at"),
    "tick_struck": F("ticks__struck_reason"),
}


def standing_steps(job: Job) -> QuerySet[JobStep]:
    """The steps of a job that were not taken off again, in their order."""
    return JobStep.objects.filter(job=job, removed_at=None).order_by("position")


def missing_steps(job: Job) -> tuple[str, ...]:
    """The required steps that keep a job from being ready, by their words. One query.

    The one place that says so: a step is missing until it is ticked whole, or the owner lets the job go
    without it.
    """
    rows = standing_steps(job).filter(is_required=True, is_done=False, waived_by=None)
    return tuple(rows.values_list("text", flat=True))


def with_steps(jobs: QuerySet[Job]) -> QuerySet[Job]:
    """The jobs with how many steps each has, and how many are missing; for ``step_counts``. No query."""
    rows = JobStep.objects.filter(job=OuterRef("pk"), removed_at=None)
    missing = rows.filter(is_required=True, is_done=False, waived_by=None)
    return jobs.annotate(steps_all=_count(rows), steps_missing=_count(missing))


def _count(rows: QuerySet[JobStep]) -> Subquery:
    return Subquery(rows.order_by().values("job").annotate(rows=Count("pk")).values("rows"))


def step_counts(job: Job) -> StepCounts:
    """The counts of a job that was fetched by ``with_steps``; none of any other. No query."""
    every, missing = getattr(job, "steps_all", None), getattr(job, "steps_missing", None)
    return StepCounts(all=every or 0, missing=missing or 0)


def steps_of(job: Job, *, viewer: Person) -> tuple[StepRow, ...]:
    """The steps of a job with their ticks. One query: a step comes once for each tick, or alone."""
    is_desk = access.may_use_desk(viewer)
    rows = standing_steps(job).order_by("position", "ticks__happened_at", "ticks__pk")
    return tuple(
        _row(some[0], ticks=_ticks(some, viewer=viewer), is_desk=is_desk, is_owner=viewer.is_owner)
        for some in _by_step(rows.select_related("waived_by").annotate(**_OF_TICK))
    )


def _by_step(rows: Iterable[Any]) -> Iterator[list[Any]]:
    return (list(some) for _position, some in groupby(rows, key=lambda one: one.position))


def _ticks(rows: Sequence[Any], *, viewer: Person) -> tuple[TickRow, ...]:
    is_desk = access.may_use_desk(viewer)
    return tuple(
        TickRow(
            pk=one.tick_pk,
            stage=one.tick_stage,
            fastener=one.tick_fastener,
            who=one.tick_who,
            who_pk=one.tick_who_pk,
            happened_at=one.tick_at,
            is_struck=one.tick_struck_at is not None,
            struck=one.tick_struck,
            may_strike=one.tick_struck_at is None and (is_desk or one.tick_who_pk == viewer.pk),
        )
        for one in rows
        if one.tick_pk is not None
    )


def _row(row: JobStep, *, ticks: Sequence[TickRow], is_desk: bool, is_owner: bool) -> StepRow:
    joint = joint_of(row.joint)
    standing = [one for one in ticks if not one.is_struck]
    is_missing = row.is_required and not row.is_done and row.waived_by is None
    return StepRow(
        pk=row.pk,
        text=row.text,
        is_required=row.is_required,
        caution=row.caution,
        origin=row.origin_words,
        is_done=row.is_done,
        waiver=row.waiver_reason,
        waived_by=row.waived_by.name if row.waived_by is not None else "",
        joint=_joint(joint, ticks=standing) if joint is not None else None,
        ticks=tuple(ticks),
        may_remove=is_desk and not standing,
        may_waive=is_owner and is_missing,
    )


def _joint(joint: KeptJoint, *, ticks: Sequence[TickRow]) -> JointView:
    told = [Tick(at=one.happened_at, stage=one.stage, fastener=one.fastener) for one in ticks]
    done = [
        numbers_done(told, stage=number, fasteners=count)
        for number, count in enumerate(joint.fasteners, start=1)
    ]
    early = begun_early(told, fasteners=joint.fasteners)
    whole = [len(numbers) == count for numbers, count in zip(done, joint.fasteners, strict=True)]
    now = whole.index(False) + 1 if False in whole else len(whole)
    return JointView(
        name=joint.name,
        family=joint.family,
        page=joint.page,
        pattern=joint.pattern,
        is_makers=joint.is_makers,
        treatment=joint.treatment,
        question=joint.question,
        is_looked_up=joint.is_looked_up,
        sheet=f"0 0 {joint.drawing.width:g} {joint.drawing.height:g}",
        stages=tuple(
            StageView(
                number=number,
                words=stage.words,
                spots=_spots(stage, joint=joint, done=done[number - 1]),
                done=len(done[number - 1]),
                is_whole=whole[number - 1],
                is_now=number == now,
                is_early=number in early,
            )
            for number, stage in enumerate(joint.stages, start=1)
        ),
    )


def _spots(stage: KeptStage, *, joint: KeptJoint, done: frozenset[int]) -> tuple[Spot, ...]:
    following = next((number for number in range(1, len(stage.order) + 1) if number not in done), None)
    places = enumerate((joint.drawing.spots[fastener] for fastener in stage.order), start=1)
    return tuple(
        Spot(
            number=number,
            # as text: no locale may put a comma into a drawing
            place=f"translate({x:g} {y:g})",
            is_ticked=number in done,
            is_next=number == following,
        )
        for number, (x, y) in places
    )

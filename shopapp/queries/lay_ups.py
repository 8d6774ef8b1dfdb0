"""Engines that are fogged and laid up: since when, by whom, and whether a job may still lay its engine up."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from shopapp.models import Engine, Job, Stage, TestKind

# fogging is the last thing done to an engine: while it is worked on, or once it is ready
LAID_UP_AT = (Stage.IN_HAND, Stage.TEST, Stage.READY)
UNPROVED = (Stage.IN_HAND, Stage.TEST)


@dataclass(frozen=True, kw_only=True)
class LaidUp:
    """Since when an engine is fogged and laid up, and by whom."""

    since: datetime
    who: str


def laid_up(engine: Engine) -> LaidUp | None:
    """None for an engine in service. No query where ``laid_up_by`` came with the engine."""
    if engine.laid_up_at is None or engine.laid_up_by is None:
        return None
    return LaidUp(since=engine.laid_up_at, who=engine.laid_up_by.name)


def may_lay_up(job: Job) -> bool:
    """Whether a job offers to lay its engine up, where it stands. No query."""
    return job.engine is not None and job.engine.laid_up_at is None and job.stage in LAID_UP_AT


def unproved_jobs(engine_pk: int) -> QuerySet[Job]:
    """Jobs on an engine, on whatever visit, whose work is begun and whose test is not recorded yet.

    A test that passed, or that the owner let go, makes a job ready.
    """
    jobs = Job.objects.filter(engine=engine_pk, stage__in=UNPROVED).exclude(test_kind=TestKind.NONE)
    return jobs.select_related("work_order").order_by("work_order_id", "position")

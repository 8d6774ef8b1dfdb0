"""Moves a job along its path, and its work order with it."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from shopapp.actions.activity import Entry
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.models import CLOSED_STAGES, Job, Stage, WorkOrder

PATH = (
    Stage.BOOKED,
    Stage.HERE,
    Stage.DIAGNOSIS,
    Stage.WITH_CUSTOMER,
    Stage.IN_LINE,
    Stage.IN_HAND,
    Stage.TEST,
    Stage.READY,
    Stage.GONE,
)
# why a job was moved, where no person says it in words of their own
DECLINED, TAKEN_BACK, UNDER_LIMIT = "declined", "taken back", "under the limit"
# who may follow whom: every step that an action takes, and no other. Nothing is booked yet, so nothing
# leads from there to "here".
NEXT: dict[str, tuple[Stage, ...]] = {
    Stage.BOOKED: (Stage.CANCELLED,),
    Stage.HERE: (Stage.DIAGNOSIS, Stage.WITH_CUSTOMER, Stage.IN_HAND, Stage.READY, Stage.CANCELLED),
    Stage.DIAGNOSIS: (Stage.HERE, Stage.WITH_CUSTOMER, Stage.IN_HAND, Stage.READY, Stage.CANCELLED),
    Stage.WITH_CUSTOMER: (Stage.DIAGNOSIS, Stage.IN_LINE, Stage.READY),
    Stage.IN_LINE: (Stage.DIAGNOSIS, Stage.IN_HAND, Stage.READY),
    Stage.IN_HAND: (Stage.DIAGNOSIS, Stage.IN_LINE, Stage.TEST, Stage.READY),
    Stage.TEST: (Stage.DIAGNOSIS, Stage.IN_HAND, Stage.READY),
    Stage.READY: (Stage.DIAGNOSIS, Stage.IN_HAND, Stage.GONE),
    Stage.GONE: (),
    Stage.CANCELLED: (),
}


def lock_work_order(pk: int) -> WorkOrder:
    """The work order, locked until the transaction ends. Every action on a visit takes this lock first."""
    return locked(WorkOrder.objects.filter(pk=pk)).get()


def least_advanced(stages: Sequence[str]) -> str:
    """The stage of a visit from those of its jobs: the least advanced open one; gone when all are closed."""
    open_stages = [stage for stage in stages if stage not in CLOSED_STAGES]
    if open_stages:
        return min(open_stages, key=lambda stage: PATH.index(Stage(stage)))
    return Stage.GONE if Stage.GONE in stages else Stage.CANCELLED


def move_job(job: Job, to: Stage, *, work_order: WorkOrder, why: str = "") -> Entry:
    """Put the job into a stage and its (locked) work order into the stage that follows from all its jobs.

    The stage counts as it is now that the work order is locked, not as the caller's copy of the job has it.
    Returns the entry for the activity chain, which the caller records last. Raises Refused when the path
    does not lead there.
    """
    stages = dict(Job.objects.filter(work_order=work_order).values_list("pk", "stage"))
    before = stages[job.pk]
    if to not in NEXT[before]:
        sentence = _("This job is at “%(came)s”; it cannot go to “%(goes)s” from there.")
        raise Refused(sentence % {"came": Stage(before).label, "goes": to.label})
    job.stage = stages[job.pk] = to
    Job.objects.filter(pk=job.pk).update(stage=to)
    work_order.stage = least_advanced(list(stages.values()))
    WorkOrder.objects.filter(pk=work_order.pk).update(stage=work_order.stage)
    facts = {"from": before, "to": to.value, "why": why}
    return Entry(verb="move job", record=job, facts=facts, work_order=work_order)

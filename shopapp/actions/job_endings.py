"""How a job ends without being done, without its test, or not at all: it goes back, and why."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, set_outcome, stage_word
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.stages import move_job
from shopapp.calc.errors import BadInput
from shopapp.models import BilledSource, Job, Outcome, Stage, WorkOrder
from shopapp.queries.job_rules import endings, is_covered, may_waive_test, ways_back

LONGEST_REASON = 300


@dataclass(frozen=True, kw_only=True)
class EndInput:
    """How the job ends, and why."""

    outcome: Outcome
    reason: str


@dataclass(frozen=True, kw_only=True)
class BackInput:
    """The stage the job goes back to, and why."""

    to: Stage
    reason: str


@dataclass(frozen=True, kw_only=True)
class WaiveInput:
    """Why the owner lets a job go without its test."""

    reason: str


@transaction.atomic
def end_job(job_pk: int, data: EndInput, *, by: Actor) -> Job:
    """End a job that is not done: no fault found, declined (three ways of leaving it), or later.

    The job is ready then. A job that the customer declined may be given another of these endings. Locks the
    work order, the job, and last the chain head. A second sender is refused. If the power fails, all of it
    or nothing.
    """
    job = lock_job(job_pk, by=by)
    reason = _reason(data.reason, accepted=_("why it ends like this, in a few words"))
    allowed = endings(job, viewer=person_of(by))
    if not allowed:
        raise Refused(_("This job is at “%s”; it can not be ended from there.") % stage_word(job))
    if data.outcome not in allowed:
        accepted = ", ".join(str(one.label) for one in allowed)
        raise BadInput("outcome", Outcome(data.outcome).label, accepted)
    entries = [] if job.stage == Stage.READY else [move_job(job, Stage.READY, work_order=job.work_order)]
    set_outcome(job, data.outcome)
    facts: Payload = {"job": job.position, "outcome": data.outcome.value, "why": reason}
    ended = Entry(verb="end job", record=job, facts=facts, work_order=job.work_order)
    activity.record([*entries, ended], by=by)
    return job


@transaction.atomic
def move_back(job_pk: int, data: BackInput, *, by: Actor) -> Job:
    """Send a job back along its path, with the reason; how it ended, and a waiver, count no more.

    A declined job is asked about again this way, since from diagnosis it may be quoted anew. A visit that
    was told to be ready is not told any more. Locks the work order, the job, and last the chain head. A
    second sender is refused, since the job has moved. If the power fails, all of it or nothing.
    """
    job = lock_job(job_pk, by=by)
    reason = _reason(data.reason, accepted=_("why the job goes back, in a few words"))
    ways = ways_back(job, viewer=person_of(by), is_agreed=is_covered(job))
    if data.to not in ways:
        sentence = _("This job is at “%(came)s”; it cannot go back to “%(goes)s” from there.")
        raise Refused(sentence % {"came": stage_word(job), "goes": Stage(data.to).label})
    if data.to == Stage.DIAGNOSIS:
        _require_unbilled(job)
    entry = move_job(job, data.to, work_order=job.work_order, why=reason)
    _forget_ending(job, is_begun=data.to == Stage.IN_HAND)
    WorkOrder.objects.filter(pk=job.work_order_id).update(told_at=None, told_how="")
    activity.record([entry], by=by)
    return job


@transaction.atomic
def waive_test(job_pk: int, data: WaiveInput, *, by: Actor) -> Job:
    """Let a finished job be ready without its test; the owner's word, with a reason.

    Locks the work order, the job, and last the chain head. A second sender is refused. If the power fails,
    all of it or nothing.
    """
    job = lock_job(job_pk, by=by)
    owner = person_of(by)
    if not owner.is_owner:
        raise NotAllowed(_("Only the owner lets a boat go without its test."))
    reason = _reason(data.reason, accepted=_("why it may go without the test"))
    if not may_waive_test(job, viewer=owner):
        raise Refused(
            _("Only work that waits for its test can go without it; this job is at “%s”.") % stage_word(job)
        )
    job.waiver_reason, job.waived_by = reason, owner
    job.save(update_fields=["waiver_reason", "waived_by"])
    set_outcome(job, Outcome.DONE)
    moved = move_job(job, Stage.READY, work_order=job.work_order)
    facts: Payload = {"job": job.position, "why": reason}
    waived = Entry(verb="waive test", record=job, facts=facts, work_order=job.work_order)
    activity.record([waived, moved], by=by)
    return job


def _reason(text: str, *, accepted: str) -> str:
    reason = text.strip()
    if not reason or len(reason) > LONGEST_REASON:
        raise BadInput("reason", reason[:40], accepted)
    return reason


def _require_unbilled(job: Job) -> None:
    """What was billed was agreed and done; a quote that takes its place would bill it twice."""
    if BilledSource.objects.filter(line__job=job, line__invoice__issued_at__isnull=False).exists():
        raise Refused(
            _("This job is billed. Credit the invoice first, or write down what else is wrong as a new job.")
        )


def _forget_ending(job: Job, *, is_begun: bool) -> None:
    """Only work that goes on keeps its share of the spending limit."""
    job.outcome, job.waiver_reason, job.waived_by = Outcome.OPEN, "", None
    job.limit_share_minor = job.limit_share_minor if is_begun else None
    job.save(update_fields=["outcome", "waiver_reason", "waived_by", "limit_share_minor"])

"""Steps are ticked by whoever did them, at once or later from a tablet; a wrong tick is struck out."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, stage_word
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.steps import lock_step, tell
from shopapp.actions.striking import strike
from shopapp.calc.errors import BadInput
from shopapp.calc.ticks import Tick, is_done
from shopapp.models import CLOSED_STAGES, Job, JobStep, Stage, StepTick
from shopapp.queries.jobs import may_log_on, was_logged_on
from shopapp.queries.joints import joint_of


@dataclass(frozen=True, kw_only=True)
class TickInput:
    """What was done: the step; of a joint the stage, and its fastener unless it is the whole stage."""

    step: int
    stage: int | None = None
    fastener: int | None = None


@transaction.atomic
def tick_step(job_pk: int, data: TickInput, *, by: Actor) -> StepTick:
    """Tick a step, a stage of it or one fastener; in whatever order, since what was done was done.

    Each sending adds a row, so that any order of ticks and strikes ends alike. Locks the work order, the
    job, the step, and last the chain head. The key of the form, or the mark of the tablet's entry, keeps a
    second sender from a second row. If the power fails, tick and record are there or neither.
    """
    job = lock_job(job_pk, by=by)
    if not may_log_on(job) and not (by.received_at is not None and was_logged_on(job, at=by.at)):
        raise Refused(_("Steps are ticked from diagnosis to test; this job is at “%s”.") % stage_word(job))
    step = locked(JobStep.objects.filter(pk=data.step, job=job)).first()
    if step is None:
        raise BadInput("step", data.step, _("a step of this job"))
    if step.removed_at is not None:
        raise Refused(_("“%s” was taken off this job.") % step.text)
    _require_place(step, data)
    tick = StepTick.objects.create(
        step=step,
        stage=data.stage,
        fastener=data.fastener,
        ticked_by=person_of(by),
        device=by.device,
        happened_at=by.at,
        recorded_at=by.recorded_at,
    )
    _settle(step, tick, job, verbs=("tick step", "tick part of step"), by=by)
    return tick


@transaction.atomic
def strike_tick(pk: int, *, reason: str, by: Actor) -> StepTick:
    """Strike out a tick that is wrong; it stays readable. People strike their own, the desk anybody's.

    Locks the work order, the job, the step, the tick, and last the chain head. A second sender gets the
    struck tick and leaves no second trace. If the power fails, all of it or nothing. Refused once the job is
    ready because of it.
    """
    step_pk = StepTick.objects.values_list("step_id", flat=True).get(pk=pk)
    job, step = lock_step(step_pk, by=by)
    tick, person = locked(StepTick.objects.filter(pk=pk)).get(), person_of(by)
    if tick.struck_at is not None:
        return tick
    if tick.ticked_by_id != person.pk and not access.may_use_desk(person):
        raise NotAllowed(_("You can strike out what you ticked yourself. Ask the desk for other ticks."))
    if step.is_required and job.stage in (Stage.READY, *CLOSED_STAGES):
        raise Refused(_("This job is ready because of its steps. Send it back first, then strike the tick."))
    strike(tick, person, reason=reason, by=by)
    _settle(step, tick, job, verbs=("strike tick", "strike part of step"), by=by)
    return tick


def _require_place(step: JobStep, data: TickInput) -> None:
    """The step has such a stage, and the stage such a fastener."""
    joint = joint_of(step.joint)
    if joint is None:
        if data.stage is not None or data.fastener is not None:
            raise BadInput(
                "stage", data.stage or data.fastener, _("no stage: this step is ticked as a whole")
            )
        return
    counts = joint.fasteners
    if data.stage is None or not 1 <= data.stage <= len(counts):
        accepted = _("a stage from 1 to %(most)s") % {"most": len(counts)}
        raise BadInput("stage", data.stage or "", accepted)
    most = counts[data.stage - 1]
    if data.fastener is not None and not 1 <= data.fastener <= most:
        raise BadInput("fastener", data.fastener, _("a number from 1 to %(most)s") % {"most": most})


def _settle(step: JobStep, tick: StepTick, job: Job, *, verbs: tuple[str, str], by: Actor) -> None:
    """Write whether the (locked) step is done by the ticks that stand now, and tell the chain.

    A fastener among many is told of without the visit, so that it does not push everything else out of the
    feed; what makes the step done, or undone, is told with it.
    """
    joint = joint_of(step.joint)
    standing = [
        Tick(at=one.happened_at, stage=one.stage, fastener=one.fastener)
        for one in step.ticks.filter(struck_at=None)
    ]
    done = is_done(standing, fasteners=joint.fasteners if joint is not None else ())
    was_done, step.is_done = step.is_done, done
    if done != was_done:
        step.save(update_fields=["is_done"])
        tell(verbs[0], tick, job, by=by, what=step.text)
        return
    facts: Payload = {"step": step.pk, "stage": tick.stage, "fastener": tick.fastener}
    activity.record([Entry(verb=verbs[1], record=tick, facts=facts)], by=by)

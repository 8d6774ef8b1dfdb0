"""Steps of a job: put on it by hand, from a list or from the spec book; taken off again, or let go."""

from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, stage_word
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import (
    CLOSED_STAGES,
    Job,
    JobStep,
    Stage,
    StepCaution,
    StepLine,
    StepList,
    StepOrigin,
    StepTick,
    TighteningSpec,
)
from shopapp.queries.joints import kept
from shopapp.queries.shop import the_shop

# more than about so many are ticked without looking: common practice, no source
MOST_REQUIRED = 8
MOST_STEPS = 60
LONGEST_STEP = 200
LONGEST_REASON = 200


@dataclass(frozen=True, kw_only=True)
class StepInput:
    """A step in somebody's own words."""

    text: str
    is_required: bool = True
    caution: StepCaution = StepCaution.NONE


@dataclass(frozen=True, kw_only=True)
class JointInput:
    """A joint of the spec book, by its id."""

    spec: int
    is_required: bool = True


@transaction.atomic
def add_step(job_pk: int, data: StepInput, *, by: Actor) -> JobStep:
    """Put a step on a job by hand.

    Locks the work order, the job, and last the chain head. The key of the form keeps a second sender from a
    second step. If the power fails, step and record are there or neither. Refused once the job is ready, and
    for the ninth required step.
    """
    job = _open_job(job_pk, by=by)
    text = " ".join(data.text.split())
    if not text or len(text) > LONGEST_STEP:
        raise BadInput("text", data.text, _("what is to be done, in a few words"))
    step = _step(text, is_required=data.is_required, caution=data.caution, origin=StepOrigin.HAND)
    return _put(job, [step], what=text, by=by)[0]


@transaction.atomic
def add_step_list(job_pk: int, list_pk: int, *, by: Actor) -> list[JobStep]:
    """Put the steps of a list on a job, joints as the spec book of its engine has them.

    Locks the work order, the job, and last the chain head. A second sender is refused: the list is on the
    job. If the power fails, all of it or nothing. Refused where more than eight would be required.
    """
    job = _open_job(job_pk, by=by)
    chosen = StepList.objects.filter(pk=list_pk, is_active=True).first()
    if chosen is None:
        raise BadInput("list", list_pk, _("one of the lists that are offered"))
    known = JobStep.objects.filter(job=job, origin=StepOrigin.LIST, removed_at=None)
    if known.filter(origin_words=chosen.title).exists():
        raise Refused(_("The steps of “%s” are on this job already.") % chosen.title)
    specs = {one.joint.casefold(): one for one in _specs_of(job)}
    steps = [
        step
        for line in chosen.lines.order_by("position")
        for step in _of_line(line, chosen, spec=specs.get(line.joint.casefold()))
    ]
    return _put(job, steps, what=chosen.title, by=by)


@transaction.atomic
def add_joint(job_pk: int, data: JointInput, *, by: Actor) -> list[JobStep]:
    """Put a joint of the engine's family on a job: as the book has it now, with new fasteners and brackets.

    Locks the work order, the job, and last the chain head. The key of the form keeps a second sender from a
    second joint. If the power fails, all of it or nothing. Later edits of the spec book change nothing here.
    """
    job = _open_job(job_pk, by=by)
    spec = next((one for one in _specs_of(job) if one.pk == data.spec), None)
    if spec is None:
        raise BadInput("spec", data.spec, _("a joint that the spec book has for this engine"))
    return _put(job, _of_joint(spec, is_required=data.is_required), what=spec.joint, by=by)


@transaction.atomic
def remove_step(pk: int, *, by: Actor) -> JobStep:
    """Take a step off its job again, once nobody has ticked it; the desk's to do.

    Locks the work order, the job, the step, and last the chain head. A second sender changes nothing. If the
    power fails, all of it or nothing.
    """
    person = desk_person(by)
    job, step = lock_step(pk, by=by)
    if step.removed_at is not None:
        return step
    if step.ticks.filter(struck_at=None).exists():
        raise Refused(_("“%s” is ticked, so it stays. Strike the ticks out first.") % step.text)
    _require_open(job)
    step.removed_at, step.removed_by = by.recorded_at, person
    step.save(update_fields=["removed_at", "removed_by"])
    tell("remove step", step, job, by=by)
    return step


@transaction.atomic
def waive_step(pk: int, *, reason: str, by: Actor) -> JobStep:
    """Let a job be ready without a required step; the owner's word, with a reason.

    Locks the work order, the job, the step, and last the chain head. A second sender is refused. If the
    power fails, all of it or nothing. Ticking it later is still possible.
    """
    job, step = lock_step(pk, by=by)
    owner = person_of(by)
    if not owner.is_owner:
        raise NotAllowed(_("Only the owner lets a job go without a required step."))
    said = " ".join(reason.split())
    if not said or len(said) > LONGEST_REASON:
        raise BadInput("reason", reason[:40], _("why the job may go without it"))
    is_missing = step.is_required and not step.is_done and step.removed_at is None
    if not is_missing or step.waived_by is not None:
        raise Refused(_("The job does not wait for “%s”.") % step.text)
    step.waiver_reason, step.waived_by = said, owner
    step.save(update_fields=["waiver_reason", "waived_by"])
    tell("waive step", step, job, by=by, why=said)
    return step


def _open_job(pk: int, *, by: Actor) -> Job:
    job = lock_job(pk, by=by)
    _require_open(job)
    return job


def _require_open(job: Job) -> None:
    if job.stage in (Stage.READY, *CLOSED_STAGES):
        raise Refused(
            _("The steps of a job stay as they are once it is ready; it is at “%s”.") % stage_word(job)
        )


def lock_step(pk: int, *, by: Actor) -> tuple[Job, JobStep]:
    """The step, locked after its work order and its job."""
    job = lock_job(JobStep.objects.values_list("job_id", flat=True).get(pk=pk), by=by)
    return job, locked(JobStep.objects.filter(pk=pk)).get()


def _specs_of(job: Job) -> list[TighteningSpec]:
    """The joints of the engine's family with their stages. Two queries."""
    rows = TighteningSpec.objects.filter(family__engines__jobs=job).select_related("family")
    return list(rows.prefetch_related("stages").order_by("joint"))


def _step(
    text: str,
    *,
    origin: StepOrigin,
    is_required: bool = True,
    caution: str = "",
    words: str = "",
    joint: dict[str, Any] | None = None,
) -> JobStep:
    return JobStep(
        text=text[:LONGEST_STEP],
        is_required=is_required,
        caution=caution,
        origin=origin,
        origin_words=words,
        joint=joint or {},
    )


def _of_line(line: StepLine, chosen: StepList, *, spec: TighteningSpec | None) -> list[JobStep]:
    """The step of a line, or those of its joint where the spec book of the engine has it."""
    if spec is None:
        step = _step(
            line.text,
            origin=StepOrigin.LIST,
            is_required=line.is_required,
            caution=line.caution,
            words=chosen.title,
        )
        return [step]
    steps = _of_joint(spec, is_required=line.is_required, caution=line.caution)
    for one in steps:
        one.origin, one.origin_words = StepOrigin.LIST, chosen.title
    return steps


def _of_joint(spec: TighteningSpec, *, is_required: bool, caution: str = "") -> list[JobStep]:
    """The joint itself, before it the new fasteners it asks for, after it what is easily left in the tray."""
    words, name = f"{spec.family}", {"joint": spec.joint}

    def of_spec(text: str, *, required: bool, joint: dict[str, Any] | None = None) -> JobStep:
        step = _step(text % name, origin=StepOrigin.JOINT, is_required=required, words=words, joint=joint)
        step.caution = caution if joint else ""
        return step

    once = [of_spec(_("%(joint)s: new fasteners, these are used once"), required=is_required)]
    told = kept(spec, stages=list(spec.stages.all()), locale=the_shop().locale)
    return [
        *(once if spec.is_one_time else []),
        of_spec(_("Tighten: %(joint)s"), required=is_required, joint=told),
        of_spec(_("%(joint)s: brackets, clips and caps back on, nothing left in the tray"), required=False),
    ]


def _put(job: Job, steps: list[JobStep], *, what: str, by: Actor) -> list[JobStep]:
    """Put new steps behind those of the (locked) job, and tell the chain."""
    standing = JobStep.objects.filter(job=job, removed_at=None)
    required = standing.filter(is_required=True).count()
    asked = sum(one.is_required for one in steps)
    if asked and required + asked > MOST_REQUIRED:
        facts = {"has": required, "most": MOST_REQUIRED, "asked": asked}
        raise Refused(
            _(
                "This job has %(has)s required steps and would get %(asked)s more. More than about %(most)s "
                "are ticked without looking. Which must not be forgotten? Add the others as not required."
            )
            % facts
        )
    if standing.count() + len(steps) > MOST_STEPS:
        raise Refused(_("A job takes at most %s steps.") % MOST_STEPS)
    last = JobStep.objects.filter(job=job).aggregate(last=Max("position"))["last"] or 0
    person = person_of(by)
    for position, one in enumerate(steps, start=last + 1):
        one.job, one.position, one.added_by, one.added_at = job, position, person, by.recorded_at
        one.save()
    facts_told: Payload = {"job": job.position, "what": what, "steps": len(steps)}
    if steps:
        entry = Entry(verb="add steps", record=steps[0], facts=facts_told, work_order=job.work_order)
        activity.record([entry], by=by)
    return steps


def tell(verb: str, record: JobStep | StepTick, job: Job, *, by: Actor, **facts: str) -> None:
    """Tell the chain, last, what became of a step of the job."""
    what = {"what": record.text} if isinstance(record, JobStep) else {}
    known: Payload = {"job": job.position, **what, **facts}
    activity.record([Entry(verb=verb, record=record, facts=known, work_order=job.work_order)], by=by)

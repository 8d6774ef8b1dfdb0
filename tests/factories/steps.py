"""A job with steps: plain ones, and a joint of an invented engine family."""

from dataclasses import replace

from shopapp.actions.actor import Actor
from shopapp.actions.spec_book import add_family, add_value
from shopapp.actions.steps import JointInput, StepInput, add_joint, add_step
from shopapp.actions.tightening_specs import TighteningInput
from shopapp.models import Engine, EngineFamily, Job, JobStep, Stage, StepList, TighteningSpec
from tests.factories.jobs import job_at
from tests.factories.spec_book import HEAD, P60

# three bolts in a row, two stages: small enough to tick by hand
COVER = replace(HEAD, joint="Thermostat cover", columns_count=3, rows_count=1, stages=HEAD.stages[:2])


def job_with_family(stage: Stage, *joints: TighteningInput, by: Actor, **changes: object) -> Job:
    """A job on an engine whose family has these joints in the spec book; ``by`` is the owner."""
    job = job_at(stage, **changes)
    family = EngineFamily.objects.filter(name=P60.name).first() or add_family(P60, by=by)
    Engine.objects.filter(pk=job.engine_id).update(family=family)
    for joint in joints or (COVER,):
        if not TighteningSpec.objects.filter(family=family, joint=joint.joint).exists():
            add_value(family.pk, joint, by=by)
    return job


def with_joint(job: Job, *, joint: str = COVER.joint, by: Actor) -> JobStep:
    """The step that tightens this joint; with it come the new fasteners and the brackets."""
    spec = TighteningSpec.objects.get(joint=joint)
    return next(one for one in add_joint(job.pk, JointInput(spec=spec.pk), by=by) if one.joint)


def with_step(job: Job, text: str = "New plug gaskets", *, by: Actor, is_required: bool = True) -> JobStep:
    """A plain step."""
    return add_step(job.pk, StepInput(text=text, is_required=is_required), by=by)


def step_list(title: str = "Gear oil change", **lines: bool) -> StepList:
    """A list of two steps; ``lines`` are other words for them, by whether they are required."""
    found = StepList.objects.create(title=title)
    told = lines or {"New plug gaskets": True, "Old oil looked at": False}
    for position, (text, is_required) in enumerate(told.items(), start=1):
        found.lines.create(position=position, text=text, is_required=is_required)
    return found

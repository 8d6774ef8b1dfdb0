"""Step lists of the demo, the steps of its jobs, and who ticked what so far."""

from shopapp.actions.actor import Actor
from shopapp.actions.step_lists import LineInput, ListInput, write_step_list
from shopapp.actions.step_ticks import TickInput, tick_step
from shopapp.actions.steps import StepInput, add_step, add_step_list
from shopapp.management.demo.world import Facts, Visit, World
from shopapp.models import StepCaution, StepList


def write_list(*, facts: Facts, world: World, by: Actor) -> None:
    """The desk writes down what must not be forgotten in a kind of job."""
    lines = tuple(
        LineInput(
            text=told["text"],
            is_required=told.get("required", True),
            joint=told.get("joint", ""),
            caution=StepCaution(told.get("caution", "")),
        )
        for told in facts["lines"]
    )
    write_step_list(ListInput(title=facts["title"], lines=lines), by=by)


def put_list(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """The steps of a list come onto the job."""
    add_step_list(visit.job(facts).pk, StepList.objects.get(title=facts["list"]).pk, by=by)


def put_step(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """One more, in somebody's own words."""
    data = StepInput(
        text=facts["text"],
        is_required=facts.get("required", True),
        caution=StepCaution(facts.get("caution", "")),
    )
    add_step(visit.job(facts).pk, data, by=by)


def tick(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """Steps are ticked by how they begin; of a joint a stage, as a whole or these fasteners of it."""
    job = visit.job(facts)
    for text in facts["steps"]:
        step = job.steps.get(text__startswith=text)
        for fastener in facts.get("fasteners", [None]):
            data = TickInput(step=step.pk, stage=facts.get("stage"), fastener=fastener)
            tick_step(job.pk, data, by=by)

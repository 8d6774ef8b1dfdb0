"""Steps are ticked in any order, by whoever did them, and struck out; a joint fastener by fastener."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import permutations

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.step_ticks import TickInput, strike_tick, tick_step
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Job, JobStep, Person, Stage, StepTick
from shopapp.queries.steps import missing_steps, steps_of
from tests.factories.jobs import job_at
from tests.factories.steps import job_with_family, with_joint, with_step

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def done(step: JobStep) -> bool:
    step.refresh_from_db()
    return step.is_done


def test_tick_says_who_and_when(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step = with_step(job, by=by(tobiah))

    row = tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))

    assert (row.ticked_by, row.happened_at, row.device, done(step)) == (tobiah, by(tobiah).at, None, True)
    assert Activity.objects.latest("seq").verb == "tick step"


def test_joint_is_done_fastener_by_fastener_and_stage_by_stage(maren: Person, by: By) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step = with_joint(job, by=by(maren))

    for number in (1, 2, 3):
        tick_step(job.pk, TickInput(step=step.pk, stage=1, fastener=number), by=by(maren))
    assert not done(step)
    tick_step(job.pk, TickInput(step=step.pk, stage=2), by=by(maren))

    assert done(step)
    told = Activity.objects.filter(verb__startswith="tick").order_by("seq")
    assert [(one.verb, one.work_order_id is None) for one in told] == [
        *[("tick part of step", True)] * 3,
        ("tick step", False),
    ]


@pytest.mark.parametrize(
    ("stage", "fastener", "sentence"),
    [
        (None, None, "a stage from 1 to 2"),
        (3, None, "a stage from 1 to 2"),
        (1, 4, "a number from 1 to 3"),
        (1, 0, "a number from 1 to 3"),
    ],
)
def test_tick_names_a_place_that_is_there(
    maren: Person, by: By, stage: int | None, fastener: int | None, sentence: str
) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step = with_joint(job, by=by(maren))

    with pytest.raises(BadInput, match=sentence):
        tick_step(job.pk, TickInput(step=step.pk, stage=stage, fastener=fastener), by=by(maren))


def test_plain_step_has_no_stage_and_belongs_to_its_job(tobiah: Person, by: By) -> None:
    job, other = job_at(Stage.IN_HAND, technician=tobiah), job_at(Stage.IN_HAND, technician=tobiah)
    step = with_step(job, by=by(tobiah))

    with pytest.raises(BadInput, match="ticked as a whole"):
        tick_step(job.pk, TickInput(step=step.pk, stage=1), by=by(tobiah))
    with pytest.raises(BadInput, match="a step of this job"):
        tick_step(other.pk, TickInput(step=step.pk), by=by(tobiah))


def test_ready_job_takes_only_what_was_done_before(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step = with_step(job, by=by(tobiah), is_required=False)
    Job.objects.filter(pk=job.pk).update(stage=Stage.READY)
    moment = by(tobiah).at
    job.tests.create(kind="water", has_passed=True, tested_by=tobiah, tested_at=moment)
    early = replace(by(tobiah), at=moment - timedelta(hours=1), received_at=moment + timedelta(hours=1))

    with pytest.raises(Refused, match="ticked from diagnosis to test"):
        tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))
    row = tick_step(job.pk, TickInput(step=step.pk), by=early)

    assert row.recorded_at - row.happened_at == timedelta(hours=2)


def test_strike_takes_back_what_it_had_done(tobiah: Person, wen: Person, ilse: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    job.assignments.create(person=wen)
    step = with_step(job, by=by(tobiah))
    row = tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))

    with pytest.raises(NotAllowed, match="what you ticked yourself"):
        strike_tick(row.pk, reason="wrong boat", by=by(wen))
    with pytest.raises(BadInput, match="the reason"):
        strike_tick(row.pk, reason=" ", by=by(ilse))
    strike_tick(row.pk, reason="wrong boat", by=by(ilse))
    strike_tick(row.pk, reason="again", by=by(tobiah))

    row.refresh_from_db()
    assert (row.struck_reason, row.struck_by, done(step)) == ("wrong boat", ilse, False)
    assert missing_steps(job) == ("New plug gaskets",)
    assert Activity.objects.filter(verb="strike tick").count() == 1


def test_tick_that_made_a_job_ready_stays(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step = with_step(job, by=by(tobiah))
    row = tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))
    Job.objects.filter(pk=job.pk).update(stage=Stage.READY)

    with pytest.raises(Refused, match="Send it back first"):
        strike_tick(row.pk, reason="wrong boat", by=by(tobiah))


def test_any_order_of_ticks_and_strikes_ends_alike(maren: Person, by: By) -> None:
    """Two ticks of the last fastener, one of them struck, in every order that can be."""
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    ends = set()
    for order in permutations(("one", "strike one", "other", "rest")):
        if order.index("strike one") < order.index("one"):
            continue
        step, rows = with_joint(job, by=by(maren)), dict[str, StepTick]()
        for deed in order:
            if deed == "strike one":
                strike_tick(rows["one"].pk, reason="wrong", by=by(maren))
            elif deed == "rest":
                tick_step(job.pk, TickInput(step=step.pk, stage=2), by=by(maren))
                for number in (1, 2):
                    tick_step(job.pk, TickInput(step=step.pk, stage=1, fastener=number), by=by(maren))
            else:
                third = TickInput(step=step.pk, stage=1, fastener=3)
                rows[deed] = tick_step(job.pk, third, by=by(maren))
        ends.add((done(step), step.ticks.count(), step.ticks.filter(struck_at=None).count()))
        job.steps.update(is_required=False)

    assert ends == {(True, 5, 4)}


def test_early_stage_is_stored_and_asked_about(maren: Person, by: By) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step = with_joint(job, by=by(maren))

    tick_step(job.pk, TickInput(step=step.pk, stage=2), by=by(maren))

    joint = next(one.joint for one in steps_of(job, viewer=maren) if one.joint)
    assert [(one.is_whole, one.is_early, one.is_now) for one in joint.stages] == [
        (False, False, True),
        (True, True, False),
    ]

"""What a tablet is told of the steps, so that it goes on without a network."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.step_ticks import TickInput, strike_tick, tick_step
from shopapp.models import Person, Stage
from shopapp.queries.bench_steps import bench_steps
from tests.factories.steps import job_with_family, with_joint, with_step

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def test_tablet_knows_the_stages_and_the_ticks_that_stand(maren: Person, by: By) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step, plain = with_joint(job, by=by(maren)), with_step(job, by=by(maren), is_required=False)
    moment = by(maren).at.isoformat()
    wrong = tick_step(job.pk, TickInput(step=step.pk, stage=1, fastener=2), by=by(maren))
    tick_step(job.pk, TickInput(step=step.pk, stage=2), by=by(maren))
    strike_tick(wrong.pk, reason="wrong one", by=by(maren))
    tick_step(job.pk, TickInput(step=plain.pk), by=by(maren))

    told = bench_steps(job, viewer=maren)

    assert told.known[str(step.pk)] == {
        "required": True,
        "stages": [3, 3],
        "ticks": [[2, 0, maren.pk, "Maren Falk", moment]],
    }
    assert told.known[str(plain.pk)] == {
        "required": False,
        "stages": [],
        "ticks": [[0, 0, maren.pk, "Maren Falk", moment]],
    }
    assert (told.missing, [one.pk for one in told.joints]) == (2, [step.pk])

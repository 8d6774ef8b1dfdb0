"""Steps as pages show them: who ticked what, what is missing, what is next on the drawing."""

from collections.abc import Callable

import pytest
from django.test.utils import CaptureQueriesContext

from shopapp.actions.actor import Actor
from shopapp.actions.step_ticks import TickInput, strike_tick, tick_step
from shopapp.actions.steps import waive_step
from shopapp.models import Job, Person, Stage
from shopapp.queries.steps import StepCounts, missing_steps, step_counts, steps_of, with_steps
from tests.factories.jobs import job_at
from tests.factories.steps import job_with_family, with_joint, with_step

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def test_step_shows_its_ticks_and_who_may_do_what(
    tobiah: Person, maren: Person, ilse: Person, by: By
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step = with_step(job, by=by(tobiah))
    wrong = tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))
    strike_tick(wrong.pk, reason="wrong boat", by=by(tobiah))

    mine, owners, desks = (steps_of(job, viewer=one)[0] for one in (tobiah, maren, ilse))

    assert [(one.may_remove, one.may_waive) for one in (mine, owners, desks)] == [
        (False, False),
        (True, True),
        (True, False),
    ]
    assert [(one.who, one.struck, one.may_strike) for one in mine.ticks] == [
        ("Tobiah Reyes", "wrong boat", False)
    ]
    assert mine.is_open


def test_counts_tell_what_keeps_a_job_from_being_ready(tobiah: Person, maren: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    ticked, waived = with_step(job, "One", by=by(tobiah)), with_step(job, "Two", by=by(tobiah))
    with_step(job, "Three", by=by(tobiah))
    with_step(job, "Four", by=by(tobiah), is_required=False)
    tick_step(job.pk, TickInput(step=ticked.pk), by=by(tobiah))
    waive_step(waived.pk, reason="not on this one", by=by(maren))

    counts = step_counts(with_steps(Job.objects.all()).get())

    assert (counts, missing_steps(job)) == (StepCounts(all=4, missing=1), ("Three",))


def test_next_fastener_is_the_first_of_the_order_that_is_not_ticked(maren: Person, by: By) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step = with_joint(job, by=by(maren))
    for number in (1, 3):
        tick_step(job.pk, TickInput(step=step.pk, stage=1, fastener=number), by=by(maren))

    joint = next(one.joint for one in steps_of(job, viewer=maren) if one.joint)

    first = joint.stages[0]
    assert [(one.number, one.is_ticked, one.is_next) for one in first.spots] == [
        (1, True, False),
        (2, False, True),
        (3, True, False),
    ]
    # the middle one first, then left and right
    assert [one.place for one in first.spots] == [
        "translate(156 60)",
        "translate(60 60)",
        "translate(252 60)",
    ]
    assert (first.done, first.is_whole, first.is_now) == (2, False, True)


@pytest.mark.parametrize("size", [1, 6])
def test_steps_cost_one_query_however_many(
    maren: Person, by: By, size: int, django_assert_num_queries: Callable[[int], CaptureQueriesContext]
) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    for number in range(size):
        step = with_step(job, f"Step {number}", by=by(maren))
        tick_step(job.pk, TickInput(step=step.pk), by=by(maren))

    with django_assert_num_queries(1):
        assert len(steps_of(job, viewer=maren)) == size

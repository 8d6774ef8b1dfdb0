"""Steps on the bench page: drawn joints, what hurts, and nothing to press away from a tablet."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.steps import StepInput, add_step
from shopapp.models import Person, Stage, StepCaution
from tests.factories.steps import job_with_family, with_joint
from tests.web.bench.told import words_of

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def test_joint_is_drawn_in_both_units_with_the_order_said(
    tobiah: Person, maren: Person, by_pin: SignedIn, by: By
) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren), technician=tobiah)
    with_joint(job, by=by(maren))
    add_step(job.pk, StepInput(text="Drain it", caution=StepCaution.FLUID), by=by(maren))

    content = words_of(by_pin(tobiah), f"/bench/job/{job.pk}/")

    assert "15\u00a0N·m (11.1\u00a0lbf·ft)" in content
    assert "this is the usual crossing one, common practice" in content
    assert content.count('class="bolt"') == 6
    assert "Used oil goes into a closed container" in content
    assert "<strong data-missing>3</strong>" in content


def test_browser_at_the_desk_reads_and_has_nothing_to_press(
    maren: Person, signed_in: SignedIn, by: By
) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    with_joint(job, by=by(maren))

    content = words_of(signed_in(maren), f"/bench/job/{job.pk}/")

    assert "Tighten: Thermostat cover" in content
    assert "data-tick>" not in content
    assert "known-steps" not in content

"""Ticks of a tablet: each once, in any order, doubled and taken back, the same state in the end."""

import random
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from shopapp.actions.actor import Actor
from shopapp.actions.steps import remove_step
from shopapp.models import EntryState, Person, Stage, StepTick, TabletEntry
from shopapp.queries.steps import missing_steps, steps_of
from tests.factories.entries import Tablet, mark_of, tablet_of
from tests.factories.jobs import job_at
from tests.factories.steps import job_with_family, with_joint, with_step

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


@pytest.fixture
def tablet(maren: Person, tobiah: Person, wen: Person, now: Any) -> Tablet:
    """A tablet at which Tobiah and then Wen gave their PIN at this moment."""
    return tablet_of(maren, tobiah, wen, at=now)


def test_tick_is_stored_under_the_name_of_its_person(tablet: Tablet, tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step = with_step(job, by=by(tobiah))

    entry = tablet.take(tablet.write("tick", job, tobiah, {"step": step.pk, "stage": "", "fastener": ""}))

    tick = StepTick.objects.get()
    assert (entry.state, entry.row) == (EntryState.STORED, f"tick-{tick.pk}")
    assert (tick.ticked_by, tick.device, tick.happened_at < tick.recorded_at) == (tobiah, tablet.device, True)


def test_any_order_of_ticks_and_undos_gives_the_state_of_the_order_written(
    tablet: Tablet, tobiah: Person, wen: Person, maren: Person, by: By
) -> None:
    rng = random.Random(20261126)
    ends = set()
    for _round in range(6 if connection.vendor == "sqlite" else 2):
        job = job_with_family(Stage.IN_HAND, by=by(maren), technician=tobiah)
        job.assignments.create(person=wen)
        step = with_joint(job, by=by(maren))
        places = [(1, 1), (1, 2), (1, 3), (2, ""), (1, 2)]
        sents = [
            tablet.write(
                "tick", job, person, {"step": step.pk, "stage": stage, "fastener": fastener}, after=at
            )
            for at, (person, (stage, fastener)) in enumerate(zip([tobiah, wen] * 3, places, strict=False))
        ]
        # the second tick of the second fastener was one too many, and so was the last fastener
        sents += [
            tablet.write("undo", job, tobiah, {"entry": mark_of(sents[number])}, after=9) for number in (2, 4)
        ]
        order = sents * 2
        rng.shuffle(order)
        for sent in order:
            tablet.take(sent)
        joint = next(one.joint for one in steps_of(job, viewer=maren) if one.joint)
        ends.add(
            (
                tuple(tuple(one.is_ticked for one in stage.spots) for stage in joint.stages),
                tuple((stage.is_whole, stage.is_early) for stage in joint.stages),
                missing_steps(job)[1:],
                step.ticks.count(),
            )
        )

    assert ends == {
        (
            ((True, True, False), (True, True, True)),
            ((False, False), (True, True)),
            ("Tighten: Thermostat cover",),
            5,
        )
    }
    assert not TabletEntry.objects.exclude(state=EntryState.STORED).exists()


def test_tick_of_a_step_that_was_taken_off_goes_to_the_desk(
    tablet: Tablet, tobiah: Person, ilse: Person, by: By
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step = with_step(job, by=by(tobiah))
    sent = tablet.write("tick", job, tobiah, {"step": step.pk})

    remove_step(step.pk, by=by(ilse))
    entry = tablet.take(sent)

    assert (entry.state, entry.reason) == (EntryState.REVIEW, "“New plug gaskets” was taken off this job.")


def test_tick_of_no_step_goes_to_the_desk(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    entry = tablet.take(tablet.write("tick", job, tobiah, {"step": "nothing"}))

    assert (entry.state, entry.reason) == (EntryState.REVIEW, "Step: Enter a whole number.")

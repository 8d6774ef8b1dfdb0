"""The steps of a job at the desk: what is ticked, drawn joints, what may be put on."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.step_ticks import TickInput, tick_step
from shopapp.models import Job, Person, Stage
from tests.factories.jobs import job_at
from tests.factories.steps import COVER, job_with_family, step_list, with_joint, with_step

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def words(client: Client, job: Job) -> str:
    answer = client.get(f"/work-orders/job/{job.pk}/steps/")
    assert answer.status_code == 200
    return answer.content.decode()


def test_empty_page_says_what_to_do_next(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step_list()

    content = words(signed_in(tobiah), job)

    assert "No step stands on this job." in content
    assert "Gear oil change" in content
    assert "No family of the spec book is picked" in content
    assert "Step lists of the shop" not in content


def test_joint_is_drawn_with_what_is_ticked_and_what_is_next(
    maren: Person, signed_in: SignedIn, by: By
) -> None:
    odd = replace(COVER, sequence=(1, 3, 2), treatment="oiled")
    job = job_with_family(Stage.IN_HAND, odd, by=by(maren))
    step = with_joint(job, by=by(maren))
    tick_step(job.pk, TickInput(step=step.pk, stage=1, fastener=1), by=by(maren))

    content = words(signed_in(maren), job)

    assert "15\u00a0N·m (11.1\u00a0lbf·ft), 1 of 3 ticked" in content
    assert "In the maker's own order." in content
    assert 'data-fastener="1" data-state="ticked" transform="translate(60 60)"' in content
    assert 'data-fastener="2" data-state="next" transform="translate(252 60)"' in content
    assert "2 required steps are not ticked yet" in content
    assert "Thermostat cover: new fasteners, these are used once" in content


def test_ready_job_takes_no_more_steps(ilse: Person, signed_in: SignedIn) -> None:
    content = words(signed_in(ilse), job_at(Stage.READY))

    assert "its steps stay as they are" in content
    assert "Put the step on" not in content


@pytest.mark.parametrize("count", [1, 7])
def test_page_costs_the_same_queries_for_one_and_many(
    maren: Person, signed_in: SignedIn, by: By, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    job, browser = job_with_family(Stage.IN_HAND, by=by(maren)), signed_in(maren)
    for number in range(count):
        step = with_step(job, f"Step {number}", by=by(maren))
        tick_step(job.pk, TickInput(step=step.pk), by=by(maren))

    with django_assert_num_queries(7):
        words(browser, job)

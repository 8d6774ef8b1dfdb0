"""A step is ticked at the desk, without any script."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Person, Stage
from tests.factories.jobs import job_at
from tests.factories.steps import job_with_family, with_joint, with_step

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def test_plain_step_is_ticked_once_by_one_form(tobiah: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step, sent, browser = with_step(job, by=by(tobiah)), key(), signed_in(tobiah)

    answers = [browser.post(f"/work-orders/step/{step.pk}/tick/", sent) for _ in range(2)]

    assert {one.url for one in answers} == {f"/work-orders/job/{job.pk}/steps/#step-{step.pk}"}
    assert step.ticks.get().ticked_by == tobiah


def test_fastener_and_whole_stage_are_ticked(maren: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step, browser = with_joint(job, by=by(maren)), signed_in(maren)

    browser.post(f"/work-orders/step/{step.pk}/tick/", key() | {"stage": "1", "fastener": "3"})
    browser.post(f"/work-orders/step/{step.pk}/tick/", key() | {"stage": "1", "fastener": ""})

    assert list(step.ticks.order_by("pk").values_list("stage", "fastener")) == [(1, 3), (1, None)]


def test_stage_that_is_not_there_is_refused(maren: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step = with_joint(job, by=by(maren))

    answer = signed_in(maren).post(f"/work-orders/step/{step.pk}/tick/", key() | {"stage": "9"})

    assert answer.status_code == 422
    assert "a stage from 1 to 2" in answer.content.decode()

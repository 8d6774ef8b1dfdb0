"""The desk takes a step off a job again."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Person, Stage
from tests.factories.jobs import job_at
from tests.factories.steps import with_step

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def test_step_is_gone_from_the_page(ilse: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    job = job_at(Stage.IN_HAND)
    step = with_step(job, by=by(ilse))

    answer = signed_in(ilse).post(f"/work-orders/step/{step.pk}/remove-step/", key(), follow=True)

    content = answer.content.decode()
    assert "“New plug gaskets” is taken off the job." in content
    assert "No step stands on this job." in content

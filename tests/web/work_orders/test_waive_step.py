"""The owner lets a job go without a required step."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import JobStep, Person, Stage
from tests.factories.jobs import job_at
from tests.factories.steps import with_step

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def step_of(owner: Person, by: Actor) -> JobStep:
    return with_step(job_at(Stage.IN_HAND), by=by)


def test_owner_lets_it_go_with_a_reason(maren: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    step, browser = step_of(maren, by(maren)), signed_in(maren)

    answer = browser.post(
        f"/work-orders/step/{step.pk}/waive-step/", key() | {"reason": "none on this one"}, follow=True
    )

    assert "let go by Maren Falk: none on this one" in answer.content.decode()


def test_reason_is_asked_for_and_the_desk_may_not(
    maren: Person, ilse: Person, signed_in: SignedIn, key: Key, by: By
) -> None:
    step = step_of(maren, by(maren))

    asked = signed_in(maren).post(f"/work-orders/step/{step.pk}/waive-step/", key())
    desk = signed_in(ilse).post(f"/work-orders/step/{step.pk}/waive-step/", key() | {"reason": "so"})

    assert (asked.status_code, desk.status_code) == (422, 403)

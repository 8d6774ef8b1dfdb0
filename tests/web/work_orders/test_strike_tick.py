"""A wrong tick is struck out with a reason, and stays readable."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.step_ticks import TickInput, tick_step
from shopapp.models import Person, Stage, StepTick
from tests.factories.jobs import job_at
from tests.factories.steps import with_step

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def ticked(tobiah: Person, by: Actor) -> StepTick:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    return tick_step(job.pk, TickInput(step=with_step(job, by=by).pk), by=by)


def test_tick_is_struck_and_stays_readable(tobiah: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    row, browser = ticked(tobiah, by(tobiah)), signed_in(tobiah)

    answer = browser.post(
        f"/work-orders/tick/{row.pk}/strike-tick/", key() | {"reason": "wrong boat"}, follow=True
    )

    content = answer.content.decode()
    assert "struck out: wrong boat" in content
    assert "1 required step is not ticked yet" in content


def test_strike_without_a_reason_is_asked_for(tobiah: Person, signed_in: SignedIn, key: Key, by: By) -> None:
    row = ticked(tobiah, by(tobiah))

    answer = signed_in(tobiah).post(f"/work-orders/tick/{row.pk}/strike-tick/", key())

    assert answer.status_code == 422
    row.refresh_from_db()
    assert row.struck_at is None

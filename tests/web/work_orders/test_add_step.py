"""A step in somebody's own words."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person, Stage
from tests.factories.jobs import job_at

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_step_comes_onto_the_job_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, sent = job_at(Stage.IN_HAND, technician=tobiah), key() | {"text": "Cap the vent", "caution": "work"}
    browser = signed_in(tobiah)

    first, second = (browser.post(f"/work-orders/job/{job.pk}/add-step/", sent) for _ in range(2))

    assert [first.url, second.url] == [f"/work-orders/job/{job.pk}/steps/"] * 2
    step = job.steps.get()
    assert (step.text, step.caution, step.is_required) == ("Cap the vent", "work", False)


def test_step_without_words_is_asked_for(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    answer = signed_in(tobiah).post(f"/work-orders/job/{job.pk}/add-step/", key() | {"is_required": "on"})

    assert answer.status_code == 422
    assert "What must be done is missing." in answer.content.decode()

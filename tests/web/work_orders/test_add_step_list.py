"""A list of the shop comes onto a job."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person, Stage
from tests.factories.jobs import job_at
from tests.factories.steps import step_list

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_list_comes_onto_the_job_and_not_twice(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job, chosen, browser = job_at(Stage.IN_HAND), step_list(), signed_in(ilse)
    address = f"/work-orders/job/{job.pk}/add-step-list/"

    first = browser.post(address, key() | {"list": chosen.pk})
    second = browser.post(address, key() | {"list": chosen.pk})

    assert (first.url, job.steps.count()) == (f"/work-orders/job/{job.pk}/steps/", 2)
    assert second.status_code == 409
    assert "are on this job already" in second.content.decode()


def test_no_list_picked_is_asked_for(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    answer = signed_in(ilse).post(f"/work-orders/job/{job_at(Stage.IN_HAND).pk}/add-step-list/", key())

    assert answer.status_code == 422

"""The button that ends the work and sends the job to its test."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Activity, Person, Stage
from tests.factories.jobs import agreed_job, job_at
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SENTENCE = "Only work in hand can be finished; this job is at “Diagnosis”."


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/finish-work/"


def test_finish_work_sent_twice_moves_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), key())

    job.refresh_from_db()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (job.stage, Activity.objects.count()) == (Stage.TEST, 1)


@pytest.mark.parametrize(
    ("test_kind", "sentence"),
    [
        ("none", "The work is finished. The job is ready; it needs no test."),
        ("water", "The work is finished. Next comes its test."),
    ],
)
def test_finish_work_says_what_comes_next(
    *, tobiah: Person, signed_in: SignedIn, key: Key, test_kind: str, sentence: str
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah, test_kind=test_kind)

    page = signed_in(tobiah).post(address(job.pk), key(), follow=True)

    assert sentence in page.content.decode()


def test_finish_work_out_of_turn_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), key())

    job.refresh_from_db()
    assert (response.status_code, job.stage) == (409, Stage.DIAGNOSIS)
    assert SENTENCE in response.content.decode()


def test_finish_work_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_finish_work_of_another_is_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=key()) == (404, True, True)

"""The button that starts the work a customer agreed to."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person, Stage
from tests.factories.jobs import agreed_job, job_at
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SENTENCE = "The customer has not agreed to this work yet. Write and send a quote first."


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/start-work/"


def test_start_work_sent_twice_moves_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_LINE, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), key())

    job.refresh_from_db()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (job.stage, Activity.objects.count()) == (Stage.IN_HAND, 1)


def test_start_work_out_of_turn_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), key())

    job.refresh_from_db()
    assert (response.status_code, job.stage) == (409, Stage.DIAGNOSIS)
    assert SENTENCE in response.content.decode()


def test_start_work_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_LINE, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_start_work_of_another_is_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = agreed_job(Stage.IN_LINE, technician=tobiah)

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=key()) == (404, True, True)

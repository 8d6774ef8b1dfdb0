"""The button that puts the laid-up engine of a job back in service."""

from collections.abc import Callable
from datetime import datetime

from django.test import Client

from shopapp.models import Activity, Engine, Person, Stage
from tests.factories.jobs import job_at, lay_up
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/put-in-service/"


def test_put_in_service_sent_twice_is_written_once(
    tobiah: Person, signed_in: SignedIn, key: Key, now: datetime
) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    lay_up(job, tobiah, at=now)

    answers = sent_twice(signed_in(tobiah), address(job.pk), key())

    assert answers == [(302, f"/work-orders/{job.work_order_id}/#job-{job.pk}")] * 2
    assert (Engine.objects.get().laid_up_at, Activity.objects.count()) == (None, 1)


def test_engine_in_service_is_not_put_there_again(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    answer = signed_in(tobiah).post(address(job.pk), key())

    assert (answer.status_code, "This engine is in service." in answer.content.decode()) == (409, True)


def test_put_in_service_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_engine_of_anothers_job_is_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=key()) == (404, True, True)

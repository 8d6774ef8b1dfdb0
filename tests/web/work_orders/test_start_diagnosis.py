"""The button that starts a diagnosis."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person, Stage
from tests.factories.jobs import job_at
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/start-diagnosis/"


def test_start_diagnosis_sent_twice_moves_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), key())

    job.refresh_from_db()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (job.stage, Activity.objects.count()) == (Stage.DIAGNOSIS, 1)


def test_start_diagnosis_too_late_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), key())

    assert response.status_code == 409
    sentence = "A diagnosis starts when the boat is here; this job is at “In hand”."
    assert sentence in response.content.decode()


def test_start_diagnosis_without_its_key_is_refused(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), {"once_key": "x"})

    job.refresh_from_db()
    assert (response.status_code, job.stage) == (422, Stage.HERE)


def test_start_diagnosis_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_start_diagnosis_of_another_is_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=key()) == (404, True, True)

"""The verdict of a test is written down."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Job, JobTest, Person, Stage
from tests.factories.jobs import agreed_job
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
PASSED = {"verdict": "passed", "conditions": "20 minutes, calm", "remarks": ""}


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/record-test/"


def test_verdict_sent_twice_counts_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), PASSED | key())

    job.refresh_from_db()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (job.stage, job.outcome, JobTest.objects.count(), Activity.objects.count()) == (
        Stage.READY,
        "done",
        1,
        2,
    )


def test_failed_verdict_needs_words(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), PASSED | {"verdict": "failed"} | key())

    content = response.content.decode()
    assert (response.status_code, JobTest.objects.count()) == (422, 0)
    assert ('id="test_remarks_error"' in content, "20 minutes, calm" in content) == (True, True)


def test_failed_verdict_sends_the_job_back(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    signed_in(tobiah).post(address(job.pk), PASSED | {"verdict": "failed", "remarks": "Still leaks"} | key())

    job.refresh_from_db()
    assert (job.stage, JobTest.objects.get().remarks) == (Stage.IN_HAND, "Still leaks")


def test_verdict_before_the_work_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), PASSED | key())

    assert (response.status_code, JobTest.objects.count()) == (409, 0)
    assert "Only finished work is tested; this job is at “In hand”." in response.content.decode()


def test_verdict_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_verdict_of_another_is_missing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=PASSED | key()) == (404, True, True)


def test_verdict_withstands_odd_values(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    def good() -> dict[str, object]:
        # a verdict that is accepted moves the job: put it back for the next one
        Job.objects.update(stage=Stage.TEST)
        return PASSED | {"verdict": "failed"} | key()

    found = troubles_with_bad_values(
        signed_in(tobiah),
        address(job.pk),
        good=good,
        fields=["verdict", "conditions", "remarks"],
        hidden=["verdict"],
    )

    assert found == []

"""A job is sent back along its path, with the reason."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Job, Outcome, Person, Stage
from tests.factories.jobs import agreed_job, job_at
from tests.web.work_orders.posts import sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(job: Job) -> str:
    return f"/work-orders/job/{job.pk}/way-back/"


def test_way_back_sent_twice_goes_back_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = agreed_job(Stage.IN_HAND, technician=tobiah), signed_in(tobiah)

    answers = sent_twice(client, address(job), {"to": "in_line", "reason": "no bay"} | key())

    job.refresh_from_db()
    content = client.get(f"/work-orders/{job.work_order_id}/").content.decode()
    assert answers == [(302, f"/work-orders/{job.work_order_id}/#job-{job.pk}")] * 2
    assert (job.stage, "In hand → In line: no bay" in content) == ("in_line", True)


def test_declined_job_is_asked_about_again(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = job_at(Stage.READY, outcome=Outcome.DECLINED), signed_in(ilse)
    form = client.get(address(job)).content.decode()

    client.post(address(job), {"to": "diagnosis", "reason": "thought again"} | key())

    content = client.get(f"/work-orders/{job.work_order_id}/").content.decode()
    assert (form.count('type="radio"'), " checked" in form) == (1, True)
    assert f'action="/quotes/for/{job.work_order_id}/start/"' in content


def test_way_back_needs_a_reason(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND)

    response = signed_in(ilse).post(address(job), {"to": "in_line", "reason": ""} | key())

    job.refresh_from_db()
    assert (response.status_code, job.stage) == (422, "in_hand")


def test_way_that_is_not_offered_is_refused(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND)

    response = signed_in(ilse).post(address(job), {"to": "here", "reason": "x"} | key())

    job.refresh_from_db()
    assert (response.status_code, job.stage) == (409, "in_hand")

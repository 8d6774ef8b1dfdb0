"""A job ends without being done."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Job, Person, Stage
from tests.factories.jobs import job_at
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(job: Job) -> str:
    return f"/work-orders/job/{job.pk}/ending/"


@pytest.mark.parametrize(
    ("outcome", "sentence"),
    [
        ("declined", "The boat goes home put back together."),
        ("declined_boxes", "It goes home in boxes."),
        ("declined_scrap", "leaves it here for scrap."),
        ("later", "Put off to another visit."),
        ("no_fault", "No fault was found."),
    ],
)
def test_ending_is_shown_in_words(
    *, ilse: Person, signed_in: SignedIn, key: Key, outcome: str, sentence: str
) -> None:
    job, client = job_at(Stage.DIAGNOSIS), signed_in(ilse)

    answers = sent_twice(client, address(job), {"outcome": outcome, "reason": "too dear"} | key())

    content = client.get(f"/work-orders/{job.work_order_id}/").content.decode()
    assert answers == [(302, f"/work-orders/{job.work_order_id}/#job-{job.pk}")] * 2
    assert (sentence in content, "too dear" in content) == (True, True)


def test_technician_is_offered_no_fault_only(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    content = signed_in(tobiah).get(address(job)).content.decode()

    assert (content.count('type="radio"'), 'value="no_fault"' in content) == (1, True)


def test_technician_sends_a_decline_in_vain(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    response = signed_in(tobiah).post(address(job), {"outcome": "declined", "reason": "x"} | key())

    job.refresh_from_db()
    assert (response.status_code, job.outcome) == (422, "open")


def test_ending_withstands_odd_values(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = job_at(Stage.DIAGNOSIS)

    def good() -> dict[str, str]:
        # a reason that is accepted ends the job: take it up again for the next one
        Job.objects.update(stage=Stage.DIAGNOSIS, outcome="open")
        return {"outcome": "later", "reason": "x"} | key()

    found = troubles_with_bad_values(
        signed_in(ilse), address(job), good=good, fields=["outcome", "reason"], hidden=["outcome"]
    )

    assert found == []

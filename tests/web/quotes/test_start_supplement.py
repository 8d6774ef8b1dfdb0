"""A supplement is begun for the agreed jobs that have a tick."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Job, Person, QuoteRevision
from tests.factories.quotes import answered
from tests.web.pages import fresh_key, text_of


@pytest.fixture
def job(sent: QuoteRevision, ilse: Person) -> Job:
    """Agreed."""
    answered(sent, ilse, at=timezone.now() - timedelta(minutes=5))
    return Job.objects.get()


def address(job: Job) -> str:
    return f"/quotes/for/{job.work_order_id}/start-supplement/"


def test_start_supplement_leads_to_the_builder(front_desk: Client, job: Job) -> None:
    response = front_desk.post(address(job), fresh_key() | {"job": str(job.pk)})

    draft = QuoteRevision.objects.latest("pk")
    assert (response.status_code, response["Location"]) == (302, f"/quotes/{draft.pk}/edit/")
    page = text_of(front_desk.get(response["Location"]))
    wanted = ["Supplement Q-00002", "in addition to what the customer agreed on", "($354.80 without tax)"]
    assert [text for text in wanted if text not in page] == []


def test_start_supplement_sent_twice_makes_one_t21(front_desk: Client, job: Job) -> None:
    typed = fresh_key() | {"job": str(job.pk)}

    answers = [front_desk.post(address(job), typed)["Location"] for _ in range(2)]

    assert (len(set(answers)), QuoteRevision.objects.count()) == (1, 2)


@pytest.mark.parametrize("typed", [{}, {"job": "x"}, {"job": "999999"}, {"job": "9" * 30}])
def test_start_supplement_needs_jobs(front_desk: Client, job: Job, typed: dict[str, str]) -> None:
    response = front_desk.post(address(job), fresh_key() | typed)

    assert (response.status_code, QuoteRevision.objects.count()) == (422, 1)


def test_start_supplement_of_unagreed_job_is_refused(front_desk: Client, sent: QuoteRevision) -> None:
    job = Job.objects.get()

    response = front_desk.post(address(job), fresh_key() | {"job": str(job.pk)})

    assert response.status_code == 409
    assert "Job 1 is in quote Q-00001 already" in text_of(response)


def test_start_supplement_is_not_the_technicians(bench: Client, job: Job) -> None:
    assert bench.post(address(job), fresh_key() | {"job": str(job.pk)}).status_code == 403


def test_supplement_takes_fifteen_queries_to_edit(
    front_desk: Client, job: Job, django_assert_num_queries: object
) -> None:
    edit = front_desk.post(address(job), fresh_key() | {"job": str(job.pk)})["Location"]

    with django_assert_num_queries(15):
        front_desk.get(edit)

"""One more job is asked about in a draft."""

import pytest
from django.test import Client

from shopapp.models import Job, QuoteRevision
from tests.factories import JobFactory
from tests.web.pages import fresh_key, text_of


@pytest.fixture
def found(draft: QuoteRevision) -> Job:
    """Found since."""
    return JobFactory(work_order=draft.quote.work_order, position=2, complaint="No spark")


def test_add_job_leads_to_the_builder(front_desk: Client, draft: QuoteRevision, found: Job) -> None:
    response = front_desk.post(f"/quotes/{draft.pk}/add-job/", fresh_key() | {"job": str(found.pk)})

    assert (response.status_code, response["Location"]) == (302, f"/quotes/{draft.pk}/edit/")
    assert "No spark" in text_of(front_desk.get(response["Location"]))


def test_add_job_twice_adds_one_t21(front_desk: Client, draft: QuoteRevision, found: Job) -> None:
    typed = fresh_key() | {"job": str(found.pk)}

    for _ in range(2):
        front_desk.post(f"/quotes/{draft.pk}/add-job/", typed)

    assert draft.choices.count() == 2


@pytest.mark.parametrize("job", ["", "x", "-1", "99999999999999999999", "1.5"])
def test_add_job_needs_a_job(front_desk: Client, draft: QuoteRevision, job: str) -> None:
    response = front_desk.post(f"/quotes/{draft.pk}/add-job/", fresh_key() | {"job": job})

    assert (response.status_code, draft.choices.count()) == (422, 1)


def test_add_job_is_not_the_technicians(bench: Client, draft: QuoteRevision, found: Job) -> None:
    response = bench.post(f"/quotes/{draft.pk}/add-job/", fresh_key() | {"job": str(found.pk)})

    assert (response.status_code, draft.choices.count()) == (403, 1)

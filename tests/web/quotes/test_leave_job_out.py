"""A job is left out of a draft, and the builder offers to put it back."""

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Person, QuoteRevision
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import draft_quote
from tests.web.pages import fresh_key, text_of


@pytest.fixture
def draft(ilse: Person) -> QuoteRevision:
    visit = WorkOrderFactory()
    JobFactory(work_order=visit)
    JobFactory(work_order=visit, position=2, complaint="No spark")
    return draft_quote(ilse, at=timezone.now(), work_order=visit)


def test_leave_job_out_can_be_put_back(front_desk: Client, draft: QuoteRevision) -> None:
    choice = draft.choices.get(job__position=2)

    response = front_desk.post(f"/quotes/choice/{choice.pk}/leave-job-out/", fresh_key())

    assert (response["Location"], draft.choices.count()) == (f"/quotes/{draft.pk}/edit/", 1)
    assert "Taken out: “No spark”" in text_of(front_desk.get(response["Location"]))


def test_leave_job_out_of_one_is_refused(front_desk: Client, draft: QuoteRevision) -> None:
    first, second = draft.choices.all()
    front_desk.post(f"/quotes/choice/{second.pk}/leave-job-out/", fresh_key())

    response = front_desk.post(f"/quotes/choice/{first.pk}/leave-job-out/", fresh_key())

    assert (response.status_code, draft.choices.count()) == (409, 1)


def test_leave_job_out_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    choice = draft.choices.first()

    assert bench.post(f"/quotes/choice/{choice.pk}/leave-job-out/", fresh_key()).status_code == 403

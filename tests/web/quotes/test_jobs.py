"""The jobs of a draft: those it asks about, and those it could ask about."""

import pytest
from django.test import Client

from shopapp.models import QuoteRevision
from tests.factories import JobFactory
from tests.web.pages import text_of


def test_jobs_shows_what_is_asked_and_free(front_desk: Client, draft: QuoteRevision) -> None:
    visit = draft.quote.work_order
    JobFactory(work_order=visit, position=2, complaint="No spark")
    JobFactory(work_order=visit, position=3, complaint="Tilt sinks", stage="in_hand")

    page = text_of(front_desk.get(f"/quotes/{draft.pk}/jobs/"))

    wanted = ["Job 1: Gear oil looks milky", "It could also ask about", "Job 2: No spark", "Ask about it"]
    places = [page.index(text) for text in [*wanted, "Job 3: Tilt sinks", "it is too late to ask about it"]]
    assert places == sorted(places)
    assert "Leave it out" not in page


def test_jobs_of_sent_leads_to_preview(front_desk: Client, sent: QuoteRevision) -> None:
    assert front_desk.get(f"/quotes/{sent.pk}/jobs/")["Location"] == f"/quotes/{sent.pk}/preview/"


def test_jobs_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert bench.get(f"/quotes/{draft.pk}/jobs/").status_code == 403


def test_jobs_of_missing_is_404(front_desk: Client) -> None:
    assert front_desk.get("/quotes/987654/jobs/").status_code == 404


@pytest.mark.parametrize("more", [0, 20])
def test_jobs_takes_nine_queries(
    front_desk: Client, draft: QuoteRevision, django_assert_num_queries: object, more: int
) -> None:
    for position in range(2, 2 + more):
        JobFactory(work_order=draft.quote.work_order, position=position)

    with django_assert_num_queries(9):
        front_desk.get(f"/quotes/{draft.pk}/jobs/")

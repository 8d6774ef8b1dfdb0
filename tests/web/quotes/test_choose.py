"""The desk sees which jobs a quote may ask about, which a supplement may add to, and why not the others."""

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Job, Person, QuoteRevision
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import answered, sent_quote
from tests.web.pages import text_of


@pytest.fixture
def visit_pk(ilse: Person) -> int:
    """Job 1 is agreed, job 2 waits for a quote, job 3 is being asked about."""
    visit = WorkOrderFactory(stage="diagnosis")
    JobFactory(work_order=visit, complaint="Milky oil")
    answered(sent_quote(ilse, at=timezone.now(), work_order=visit), ilse, at=timezone.now())
    JobFactory(work_order=visit, position=2, stage="diagnosis", complaint="No spark")
    sent_quote(ilse, at=timezone.now(), work_order=visit)
    JobFactory(work_order=visit, position=3, stage="diagnosis", complaint="Tilt sinks")
    return visit.pk


def test_choose_sorts_the_jobs(front_desk: Client, visit_pk: int) -> None:
    page = text_of(front_desk.get(f"/quotes/for/{visit_pk}/choose/"))

    places = [page.index(text) for text in ("Job 3: Tilt sinks", "A supplement", "Job 1: Milky oil")]
    places += [page.index(text) for text in ("Not to be asked now", "Job 2: No spark", "Q-00002 already")]
    assert places == sorted(places)


def test_choose_offers_nothing_where_nothing_is(front_desk: Client, sent: QuoteRevision) -> None:
    page = text_of(front_desk.get(f"/quotes/for/{sent.quote.work_order_id}/choose/"))

    forms = [name for name in ("start", "start-supplement") if f"/{name}/" in page]
    assert ("No job of this visit waits for a quote." in page, forms) == (True, [])


def test_choose_is_not_the_technicians(bench: Client, visit_pk: int) -> None:
    assert bench.get(f"/quotes/for/{visit_pk}/choose/").status_code == 403


@pytest.mark.parametrize("more", [0, 20])
def test_choose_takes_seven_queries(
    front_desk: Client, visit_pk: int, django_assert_num_queries: object, more: int
) -> None:
    for position in range(10, 10 + more):
        JobFactory(work_order_id=visit_pk, engine=Job.objects.earliest("pk").engine, position=position)

    with django_assert_num_queries(7):
        front_desk.get(f"/quotes/for/{visit_pk}/choose/")

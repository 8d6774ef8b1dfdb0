"""Start now, by phone yes: one page, one step, from a job to work in hand."""

import re

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from shopapp.models import Approval, Job, Person, QuoteRevision, Stage
from tests.factories.jobs import job_at
from tests.factories.quotes import answered
from tests.web.pages import fields_of, fresh_key, text_of


@pytest.fixture
def job(ilse: Person) -> Job:
    return job_at(Stage.DIAGNOSIS)


def starts(browser: Client, job: Job, **typed: str) -> HttpResponse:
    """Fills in what the page does not know by itself, and starts."""
    address = f"/quotes/job/{job.pk}/start-now/"
    fields = dict(fields_of(browser.get(address))) | {"how": "phone", "kind": "labour", "answer": "start"}
    return browser.post(address, fields | {"what": "New impeller", "at_most": "180"} | typed)


def test_start_now_needs_two_things_typed(front_desk: Client, job: Job, ilse: Person) -> None:
    response = starts(front_desk, job)

    approval = Approval.objects.get()
    job.refresh_from_db()
    assert (response.status_code, response["Location"]) == (
        302,
        f"/work-orders/{job.work_order_id}/#job-{job.pk}",
    )
    assert (job.stage, job.price_kind) == (Stage.IN_HAND, "ceiling")
    assert (approval.signed_name, approval.called_number) == (
        job.work_order.customer.name,
        job.work_order.customer.phone,
    )
    assert (approval.extra_work, approval.extra_minor, approval.recorded_by) == ("New impeller", 18_000, ilse)


def test_start_now_shows_the_new_total_as_typed(
    front_desk: Client, sent: QuoteRevision, ilse: Person
) -> None:
    answered(sent, ilse, at=timezone.now())
    job = Job.objects.get()

    page = text_of(
        front_desk.post(
            f"/quotes/job/{job.pk}/start-now/", {"at_most": "1,180.50"}, headers={"HX-Request": "true"}
        )
    )

    assert page.strip().startswith('<div class="stack" id="start-now-total">')
    assert re.findall(r'class="num">([^<]+)</td>', page) == ["$354.80", "$1,180.50", "$1,535.30"]
    assert Approval.objects.count() == 1


def test_start_now_tells_extra_work_from_first(
    front_desk: Client, job: Job, sent: QuoteRevision, ilse: Person
) -> None:
    answered(sent, ilse, at=timezone.now())
    agreed = Job.objects.exclude(pk=job.pk).get()

    pages = [text_of(front_desk.get(f"/quotes/job/{one.pk}/start-now/")) for one in (job, agreed)]

    assert ["the most that it may cost" in page for page in pages] == [True, False]
    assert ["This job has a fixed price" in page for page in pages] == [False, True]
    assert ["For at most, without tax" in page for page in pages] == [True, False]
    assert ["For this price, without tax" in page for page in pages] == [False, True]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"what": ""}, "What is done is missing"),
        ({"at_most": ""}, "For at most, without tax is missing"),
        ({"at_most": "0"}, "0.01"),
        ({"at_most": "abc"}, "abc"),
        ({"spoken_with": ""}, "Who said it? is missing"),
        ({"number": ""}, "Number called, or email address is missing"),
        ({"spoken_at": "2090-01-01T10:00"}, "a time that has passed"),
        ({"kind": "fee"}, "fee"),
    ],
)
def test_start_now_says_what_is_missing(
    front_desk: Client, job: Job, typed: dict[str, str], words: str
) -> None:
    response = starts(front_desk, job, **typed)

    assert (response.status_code, Approval.objects.count()) == (422, 0)
    assert words in text_of(response)


def test_start_now_twice_with_one_key_is_one_call(front_desk: Client, job: Job) -> None:
    key = fresh_key()
    fields = dict(fields_of(front_desk.get(f"/quotes/job/{job.pk}/start-now/"))) | key
    fields |= {"how": "phone", "kind": "labour", "answer": "start", "what": "Impeller", "at_most": "180"}

    for _ in range(2):
        front_desk.post(f"/quotes/job/{job.pk}/start-now/", fields)

    assert Approval.objects.count() == 1


def test_start_now_refuses_while_a_quote_is_out(front_desk: Client, sent: QuoteRevision) -> None:
    response = starts(front_desk, Job.objects.get())

    assert response.status_code == 409
    assert "has a quote that asks about this job" in text_of(response)


def test_start_now_is_not_the_technicians(bench: Client, job: Job) -> None:
    for method in (bench.get, bench.post):
        assert method(f"/quotes/job/{job.pk}/start-now/").status_code == 403


def test_start_now_takes_few_queries(front_desk: Client, job: Job, django_assert_num_queries: object) -> None:
    with django_assert_num_queries(11):
        front_desk.get(f"/quotes/job/{job.pk}/start-now/")

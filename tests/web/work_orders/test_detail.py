"""The story of a visit: what everybody sees, what only the desk sees, and what comes next."""

import logging
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import jobs
from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.actions.job_tests import RecordTestInput, record_test
from shopapp.actions.photos import PhotoInput, add_photo
from shopapp.actions.work_orders import TellInput, tell_customer
from shopapp.models import Job, PartUsed, Person, Photo, Stage, ToldHow
from shopapp.models import TestKind as Kind
from tests.factories import JobFactory
from tests.factories.invoices import drafted, finished_job, issued, paid
from tests.factories.jobs import agreed_job, job_at, stored
from tests.factories.quotes import draft_quote, sent_quote
from tests.web.shared.hostile import NASTY_NAMES, row_counts

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def address(job: Job) -> str:
    return f"/work-orders/{job.work_order_id}/"


def shown(client: Client, job: Job) -> str:
    response = client.get(address(job))
    assert response.status_code == 200
    return response.content.decode()


def test_detail_tells_the_story_of_a_job(tobiah: Person, by: By, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah, cause="Seal cut", correction="New seals fitted")
    add_photo(job.pk, PhotoInput(stored=stored(), caption="Milky oil"), by=by(tobiah))
    record_test(job.pk, RecordTestInput(has_passed=True, conditions="flat calm"), by=by(tobiah))

    content = shown(signed_in(tobiah), job)

    for words in (
        f"Work order {job.work_order.number}",
        "Gear oil looks milky",
        "Seal cut",
        "New seals fitted",
        "Milky oil",
        "flat calm",
        "Job 1: New seals",
        "Sam Rivers",
        "Tobiah Reyes recorded a test: passed",
        "Test → Ready",
    ):
        assert words in content, words


STEPS = [
    (Stage.HERE, "Start the diagnosis", "start-diagnosis/"),
    (Stage.DIAGNOSIS, "Write the findings", "findings/"),
    (Stage.IN_LINE, "Start the work", "start-work/"),
    (Stage.IN_HAND, "Go to the work", "bench/"),
    (Stage.TEST, "Record the test", "bench/#job-test"),
]


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
@pytest.mark.parametrize(("stage", "word", "leads_to"), STEPS)
def test_detail_has_one_primary_step(
    *,
    request: pytest.FixtureRequest,
    signed_in: SignedIn,
    tobiah: Person,
    who: str,
    stage: Stage,
    word: str,
    leads_to: str,
) -> None:
    job = agreed_job(stage, technician=tobiah)

    content = shown(signed_in(request.getfixturevalue(who)), job)

    main = content.partition("<main")[2]
    assert main.count("button-primary") == 1
    assert f">{word}<" in main
    assert f"/work-orders/job/{job.pk}/{leads_to}" in main


def test_detail_leads_the_desk_to_the_quote(ilse: Person, now: object, signed_in: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, cause="Seal cut")
    client = signed_in(ilse)

    before = shown(client, job)
    draft = draft_quote(ilse, at=now, work_order=job.work_order)
    after = shown(client, job)

    assert f'action="/quotes/for/{job.work_order_id}/start/"' in before
    assert (f"/quotes/{draft.pk}/edit/" in after, "Go on with the quote" in after) == (True, True)
    assert "/start/" not in after


def test_detail_tells_a_technician_who_is_next(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah, cause="Seal cut")

    content = shown(signed_in(tobiah), job)

    assert "The findings are written. The desk writes the quote now." in content
    assert "/quotes/" not in content


def test_detail_lists_a_sent_quote(ilse: Person, now: object, signed_in: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, cause="Seal cut")
    revision = sent_quote(ilse, at=now, work_order=job.work_order)

    content = shown(signed_in(ilse), job)

    assert f'href="/quotes/{revision.pk}/preview/"' in content
    assert "The customer has the quote. The work waits for the answer." in content


def test_detail_leads_the_desk_home(ilse: Person, by: By, signed_in: SignedIn) -> None:
    job, client = finished_job(), signed_in(ilse)
    told = "Every job is ready. Tell the customer."

    first = shown(client, job)
    tell_customer(job.work_order_id, TellInput(how=ToldHow.PHONE), by=by(ilse))
    second = shown(client, job)

    assert (told in first, told in second) == (True, False)
    assert f'action="/invoices/for/{job.work_order_id}/draft/"' in second
    assert "The customer knows. Now the invoice." in second
    assert f'action="/work-orders/{job.work_order_id}/hand-back/"' not in second


def test_detail_shows_the_bill_to_the_desk(ilse: Person, by: By, signed_in: SignedIn) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "10.00", by=by(ilse))
    tell_customer(invoice.work_order_id, TellInput(how=ToldHow.PHONE), by=by(ilse))
    owed = f"${(invoice.total_minor - 1_000) / 100:.2f}"

    content = shown(signed_in(ilse), invoice.work_order.jobs.get())

    for words in (invoice.number, f"${invoice.total_minor / 100:.2f}", owed, "Take the payment"):
        assert words in content, words


def test_detail_of_a_paid_visit_hands_it_back(ilse: Person, by: By, signed_in: SignedIn) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, f"{invoice.total_minor / 100:.2f}", by=by(ilse))
    tell_customer(invoice.work_order_id, TellInput(how=ToldHow.PHONE), by=by(ilse))

    content = shown(signed_in(ilse), invoice.work_order.jobs.get())

    assert f'action="/work-orders/{invoice.work_order_id}/hand-back/"' in content
    assert f'value="{invoice.customer.name}"' in content


def test_detail_of_a_draft_bill_leads_to_it(ilse: Person, by: By, signed_in: SignedIn) -> None:
    draft = drafted(by=by(ilse))
    tell_customer(draft.work_order_id, TellInput(how=ToldHow.PHONE), by=by(ilse))

    content = shown(signed_in(ilse), draft.work_order.jobs.get())

    assert f'href="/invoices/{draft.pk}/">Go on with the invoice' in content


def test_detail_of_a_technician_has_no_desk(
    ilse: Person, tobiah: Person, by: By, signed_in: SignedIn
) -> None:
    invoice = issued(by=by(ilse))
    job = invoice.work_order.jobs.get()
    job.assignments.create(person=tobiah)

    content = shown(signed_in(tobiah), job)

    found = [
        words
        for words in (
            invoice.number,
            invoice.customer.phone,
            "/invoices/",
            "/quotes/",
            "/assign/",
            "$",
            "hand-back",
        )
        if words in content.partition("<main")[2]
    ]
    assert found == []


def test_another_technician_finds_nothing_t01(
    tobiah: Person, wen: Person, signed_in: SignedIn, caplog: pytest.LogCaptureFixture
) -> None:
    job = job_at(Stage.HERE, technician=tobiah)
    client = signed_in(wen)

    with caplog.at_level(logging.INFO, logger="shopapp.access"):
        other = client.get(address(job))
        missing = client.get("/work-orders/999999/")

    assert (other.status_code, missing.status_code) == (404, 404)
    assert other.content == missing.content
    told = [record.getMessage() for record in caplog.records if record.name == "shopapp.access"]
    refusal = f"refused GET work_orders:detail with 404 for person:{wen.pk} from 127.0.0.1"
    assert told == [refusal] * 2


def test_detail_of_an_absurd_number_is_missing(ilse: Person, signed_in: SignedIn) -> None:
    assert signed_in(ilse).get(f"/work-orders/{'9' * 30}/").status_code == 404


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_detail_shows_part_names_inert_t13(ilse: Person, by: By, signed_in: SignedIn, name: str) -> None:
    job = job_at(Stage.IN_HAND, complaint=name, cause=name)
    use_part(job.pk, UsePartInput(quantity=Decimal(1), description=name, number=name), by=by(ilse))
    add_photo(job.pk, PhotoInput(stored=stored(), caption=name), by=by(ilse))

    content = shown(signed_in(ilse), job)

    assert "<script>alert" not in content
    assert content.count("alert(1)") == (
        0 if "script" not in name else content.count("&lt;script&gt;alert(1)")
    )


def fill_parts(job: Job, person: Person, by: By, *, count: int) -> None:
    at = by(person).at
    shared = {"job": job, "logged_by": person, "happened_at": at, "recorded_at": at}
    PartUsed.objects.bulk_create(
        PartUsed(description=f"Part {place}", quantity_milli=1_000, unit_price_e4=10_000, **shared)
        for place in range(count)
    )


def fill(job: Job, person: Person, by: By, *, count: int) -> None:
    """So many parts, photos, tests and deeds on a job, and a tenth as many more jobs."""
    at = by(person).at
    PartUsed.objects.bulk_create(
        PartUsed(
            job=job,
            description=f"Part {place}",
            quantity_milli=1_000,
            logged_by=person,
            happened_at=at,
            recorded_at=at,
        )
        for place in range(count)
    )
    Photo.objects.bulk_create(
        Photo(
            work_order=job.work_order,
            job=job,
            sha256=f"{place:064x}",
            width=4,
            height=3,
            byte_size=9,
            taken_by=person,
            taken_at=at,
        )
        for place in range(count)
    )
    for position in range(2, 2 + count // 10):
        JobFactory(work_order=job.work_order, position=position, technician=person)
    for _ in range(min(count, 20)):
        jobs.edit_findings(
            job.pk,
            jobs.FindingsInput(complaint="c", cause="d", correction="e", test_kind=Kind.WATER),
            version=Job.objects.get(pk=job.pk).version,
            by=by(person),
        )


@pytest.mark.parametrize("count", [1, 100])
@pytest.mark.parametrize(("who", "queries"), [("ilse", 15), ("maren", 15), ("tobiah", 14)])
def test_detail_takes_the_same_queries(
    *,
    request: pytest.FixtureRequest,
    signed_in: SignedIn,
    tobiah: Person,
    by: By,
    django_assert_num_queries: DjangoAssertNumQueries,
    who: str,
    queries: int,
    count: int,
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    fill(job, tobiah, by, count=count)
    client = signed_in(request.getfixturevalue(who))

    with django_assert_num_queries(queries):
        client.get(address(job))


@pytest.mark.parametrize("count", [1, 100])
def test_detail_of_a_visit_to_be_billed_takes_as_many(
    ilse: Person,
    by: By,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    count: int,
) -> None:
    job, client = agreed_job(Stage.READY, price_kind="time"), signed_in(ilse)
    fill_parts(job, ilse, by, count=count)
    tell_customer(job.work_order_id, TellInput(how=ToldHow.PHONE), by=by(ilse))

    with django_assert_num_queries(15):
        content = client.get(address(job)).content.decode()

    assert "The customer knows. Now the invoice." in content


def test_detail_leads_the_desk_to_its_papers_and_pages(
    ilse: Person, tobiah: Person, signed_in: SignedIn
) -> None:
    job = job_at(Stage.IN_LINE, technician=tobiah)
    pk = job.work_order_id
    paper = f'href="/work-orders/{pk}/paper/"'
    desk = [
        f'href="/arrivals/{pk}/custody/"',
        f'href="/arrivals/{pk}/terms/"',
        f'href="/arrivals/{pk}/people/"',
        f'href="/arrivals/{pk}/taken-in/"',
        f'href="/invoices/for/{pk}/deposits/"',
        f'href="/work-orders/{pk}/agreed/"',
    ]

    pages = [shown(signed_in(one), job) for one in (ilse, tobiah)]

    assert [paper in content for content in pages] == [True, True]
    assert [link for link in desk if link not in pages[0]] == []
    assert [link for link in desk if link in pages[1]] == []


def test_looking_changes_nothing(ilse: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.READY)
    client = signed_in(ilse)
    before = row_counts()

    client.get(address(job))

    assert (row_counts(), client.post(address(job)).status_code) == (before, 405)

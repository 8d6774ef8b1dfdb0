"""Complaint, cause and correction are written, and nobody's words are lost."""

from collections.abc import Callable
from html import escape

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Activity, Job, Person, Stage
from tests.factories.jobs import job_at
from tests.factories.quotes import sent_quote
from tests.web.pages import fields_of
from tests.web.shared.hostile import NASTY_NAMES, row_counts, troubles_with_bad_values
from tests.web.work_orders.posts import looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {
    "version": "1",
    "complaint": "Gear oil looks milky",
    "cause": "Seal cut by line\nGroove under it",
    "correction": "New seals",
    "test_kind": "tank",
}


@pytest.fixture
def job(tobiah: Person) -> Job:
    return job_at(Stage.DIAGNOSIS, technician=tobiah)


def address(job: Job) -> str:
    return f"/work-orders/job/{job.pk}/findings/"


def test_findings_page_holds_what_is_saved(tobiah: Person, job: Job, signed_in: SignedIn) -> None:
    before = row_counts()

    content = signed_in(tobiah).get(address(job)).content.decode()

    assert 'name="version" value="1"' in content
    assert ("Gear oil looks milky</textarea>" in content, row_counts()) == (True, before)


def test_findings_sent_twice_are_saved_once(tobiah: Person, job: Job, signed_in: SignedIn, key: Key) -> None:
    answers = sent_twice(signed_in(tobiah), address(job), TYPED | key())

    job.refresh_from_db()
    assert answers == [(302, f"/work-orders/{job.work_order_id}/")] * 2
    assert (job.cause, job.test_kind, job.version) == ("Seal cut by line\nGroove under it", "tank", 2)
    assert Activity.objects.count() == 1


def test_second_writer_sees_both_texts_t22(
    tobiah: Person, ilse: Person, job: Job, signed_in: SignedIn, key: Key
) -> None:
    signed_in(tobiah).post(address(job), TYPED | key())
    client = signed_in(ilse)

    response = client.post(address(job), TYPED | {"cause": "Perhaps the O-ring?"} | key())

    job.refresh_from_db()
    content = response.content.decode()
    assert (response.status_code, job.cause) == (409, "Seal cut by line\nGroove under it")
    assert "Seal cut by line<br>Groove under it" in content
    assert "Perhaps the O-ring?</textarea>" in content
    assert "Tobiah Reyes" in content
    assert 'name="version" value="2"' in content


def test_second_writer_may_save_on_purpose_t22(
    tobiah: Person, ilse: Person, job: Job, signed_in: SignedIn, key: Key
) -> None:
    signed_in(tobiah).post(address(job), TYPED | key())
    client = signed_in(ilse)
    client.post(address(job), TYPED | {"cause": "Both"} | key())

    response = client.post(address(job), TYPED | {"cause": "Both", "version": "2"} | key())

    job.refresh_from_db()
    assert (response.status_code, job.cause, job.version) == (302, "Both", 3)


def test_findings_ignore_hidden_fields_t02(ilse: Person, job: Job, signed_in: SignedIn, key: Key) -> None:
    hidden = {"stage": "gone", "outcome": "done", "price_kind": "open", "role": "owner", "cost": "1"}

    signed_in(ilse).post(address(job), TYPED | hidden | key())

    job.refresh_from_db()
    ilse.refresh_from_db()
    assert (job.stage, job.outcome, job.price_kind, ilse.is_owner) == (
        "diagnosis",
        "open",
        "fixed",
        False,
    )


def test_findings_of_a_ready_job_keep_its_test(
    tobiah: Person, job: Job, signed_in: SignedIn, key: Key
) -> None:
    Job.objects.update(stage=Stage.READY)

    response = signed_in(tobiah).post(address(job), TYPED | key())

    assert response.status_code == 422
    assert 'id="id_test_kind_error"' in response.content.decode()
    assert "Seal cut by line" in response.content.decode()


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_findings_show_texts_inert_t13(
    tobiah: Person, job: Job, signed_in: SignedIn, key: Key, name: str
) -> None:
    client = signed_in(tobiah)
    client.post(address(job), TYPED | {"cause": name} | key())

    conflict = client.post(address(job), TYPED | {"cause": f"{name} too"} | key()).content.decode()

    assert ("<script>alert" in conflict, escape(name) in conflict) == (False, True)


def test_findings_on_a_quote_can_be_read_only(
    tobiah: Person, ilse: Person, job: Job, signed_in: SignedIn, key: Key
) -> None:
    sent = sent_quote(ilse, at=timezone.now(), work_order=job.work_order)
    way_out = f'href="/quotes/{sent.pk}/preview/"'

    pages = [signed_in(person).get(address(job)).content.decode() for person in (tobiah, ilse)]
    response = signed_in(tobiah).post(address(job), TYPED | key())

    assert [(page.count(" readonly"), page.count(way_out)) for page in pages] == [(2, 0), (2, 1)]
    assert "ask the desk to take the quote back" in pages[0]
    assert (response.status_code, Job.objects.get().cause) == (409, job.cause)
    assert "takes it back" in response.content.decode()


def test_findings_beside_a_quote_are_saved(
    tobiah: Person, ilse: Person, job: Job, signed_in: SignedIn, key: Key
) -> None:
    sent_quote(ilse, at=timezone.now(), work_order=job.work_order)
    client = signed_in(tobiah)
    page = dict(fields_of(client.get(address(job))))
    fields = {name: page[name] for name in ("version", "complaint", "cause")}

    response = client.post(address(job), fields | {"correction": "Seals", "test_kind": "tank"} | key())

    saved = Job.objects.get()
    assert (response.status_code, saved.correction, saved.test_kind) == (302, "Seals", "tank")


def test_findings_of_another_are_missing_t01(wen: Person, job: Job, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(wen)

    assert client.get(address(job)).status_code == 404
    assert looks_missing(client, address(job), pk=job.pk, data=TYPED | key()) == (404, True, True)


def test_findings_withstand_odd_values(ilse: Person, job: Job, signed_in: SignedIn, key: Key) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        address(job),
        good=lambda: TYPED | {"version": str(Job.objects.get().version)} | key(),
        fields=["complaint", "cause", "correction", "test_kind", "version"],
        hidden=["test_kind", "version"],
    )

    assert found == []


def test_findings_page_takes_five_queries(
    tobiah: Person, job: Job, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client = signed_in(tobiah)

    with django_assert_num_queries(5):
        client.get(address(job))

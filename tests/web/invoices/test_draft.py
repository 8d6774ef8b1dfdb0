"""The button that draws up an invoice from a work order."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Invoice, Person, RequestKey
from tests.factories import WorkOrderFactory
from tests.factories.invoices import finished_job

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/invoices/for/{pk}/draft/"


def test_draft_leads_to_the_drafts_page(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = finished_job()

    response = signed_in(ilse).post(address(job.work_order_id), key())

    draft = Invoice.objects.get()
    assert (response.status_code, response.headers["Location"]) == (302, f"/invoices/{draft.pk}/")
    assert draft.total_minor == 7_280


def test_draft_clicked_twice_is_one_draft(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job, client, sent = finished_job(), signed_in(ilse), key()

    answers = [client.post(address(job.work_order_id), data) for data in (sent, sent, key())]

    assert {answer.headers["Location"] for answer in answers} == {f"/invoices/{Invoice.objects.get().pk}/"}


def test_draft_of_nothing_is_refused_in_a_sentence(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    visit = WorkOrderFactory.create()

    response = signed_in(ilse).post(address(visit.pk), key())

    assert response.status_code == 409
    assert "There is nothing to bill" in response.content.decode()
    assert (Invoice.objects.count(), RequestKey.objects.count()) == (0, 0)


def test_draft_without_a_key_changes_nothing(ilse: Person, signed_in: SignedIn) -> None:
    job = finished_job()

    response = signed_in(ilse).post(address(job.work_order_id), {})

    assert (response.status_code, Invoice.objects.count()) == (422, 0)


def test_draft_of_missing_work_order_is_404(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(ilse).post(address(999), key()).status_code == 404


def test_technician_may_not_draft_any(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, client = finished_job(), signed_in(tobiah)

    statuses = [client.post(address(pk), key()).status_code for pk in (job.work_order_id, 999)]

    assert (statuses, Invoice.objects.count()) == ([403, 403], 0)


def test_draft_address_answers_no_get(ilse: Person, signed_in: SignedIn) -> None:
    job = finished_job()

    assert signed_in(ilse).get(address(job.work_order_id)).status_code == 405

"""The button that issues an invoice."""

from collections.abc import Callable
from typing import Any

from django.test import Client
from django_tasks_db.models import DBTaskResult

from shopapp.actions.actor import Actor
from shopapp.models import Activity, Customer, Invoice, NumberSeries, Person, RequestKey
from tests.factories.invoices import drafted, finished_job
from tests.full_disk import disk_full_at_write

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]


def address(pk: int) -> str:
    return f"/invoices/{pk}/issue/"


def test_issue_gives_a_number_and_returns(ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key) -> None:
    draft = drafted(by=by(ilse))

    response = signed_in(ilse).post(address(draft.pk), key())

    assert (response.status_code, response.headers["Location"]) == (302, f"/invoices/{draft.pk}/")
    assert Invoice.objects.get().number == "INV-00001"


def test_issue_has_the_paper_made_afterwards(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key, django_capture_on_commit_callbacks: Any
) -> None:
    draft, client, sent = drafted(by=by(ilse)), signed_in(ilse), key()

    with django_capture_on_commit_callbacks(execute=True):
        client.post(address(draft.pk), sent)
        client.post(address(draft.pk), sent)

    task = DBTaskResult.objects.get()
    assert (task.task_path, task.args_kwargs["args"]) == ("shopapp.tasks.make_invoice_paper", [draft.pk])


def test_issue_clicked_twice_takes_one_number(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    draft, client, sent = drafted(by=by(ilse)), signed_in(ilse), key()

    answers = [client.post(address(draft.pk), data) for data in (sent, sent, key())]

    assert {answer.headers["Location"] for answer in answers} == {f"/invoices/{draft.pk}/"}
    assert NumberSeries.objects.get(code="invoice").next_value == 2


def test_issue_with_a_used_key_is_refused_t20(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    first, second, client, sent = drafted(by=by(ilse)), drafted(by=by(ilse)), signed_in(ilse), key()
    client.post(address(first.pk), sent)

    response = client.post(address(second.pk), sent)

    assert response.status_code == 422
    assert Invoice.objects.get(pk=second.pk).number is None


def test_issue_after_more_was_finished_is_refused(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    draft = drafted(by=by(ilse))
    finished_job(work_order=draft.work_order)

    response = signed_in(ilse).post(address(draft.pk), key())

    assert response.status_code == 409
    assert "has changed since this draft was made" in response.content.decode()


def test_issue_of_other_sums_is_refused_then_mended(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    draft, client = drafted(by=by(ilse)), signed_in(ilse)
    Customer.objects.update(is_tax_exempt=True, exemption_reason="Coast guard")

    refused = client.post(address(draft.pk), key())
    again = client.post(f"/invoices/for/{draft.work_order_id}/draft/", key())
    page = client.get(again.headers["Location"]).content.decode()
    issued = client.post(address(draft.pk), key())

    assert (refused.status_code, issued.status_code) == (409, 302)
    assert "The sums have changed since the draft was made" in refused.content.decode()
    assert f"{draft.customer.name} will owe $65.00." in page
    assert Invoice.objects.get().total_minor == 6_500


def test_issue_without_room_to_write_says_so_t24(
    ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    draft, client, sent = drafted(by=by(ilse)), signed_in(ilse), key()
    before = Activity.objects.count()
    statuses: list[int] = []

    while not Invoice.objects.get().number:
        with disk_full_at_write(len(statuses) + 1) as writes:
            response = client.post(address(draft.pk), sent)
        statuses.append(response.status_code)
        if response.status_code == 503:
            assert "Nothing was changed, and no number was used." in response.content.decode()
            assert (Invoice.objects.get().number, NumberSeries.objects.count()) == (None, 0)
            assert (Activity.objects.count(), RequestKey.objects.count()) == (before, 0)

    assert statuses == [503] * len(writes) + [302]
    assert Invoice.objects.get().number == "INV-00001"


def test_issue_ignores_planted_fields_t02(ilse: Person, by: ByPerson, signed_in: SignedIn, key: Key) -> None:
    draft = drafted(by=by(ilse))

    signed_in(ilse).post(address(draft.pk), key() | {"number": "INV-99999", "total_minor": "1", "cost": "1"})

    invoice = Invoice.objects.get()
    assert (invoice.number, invoice.total_minor) == ("INV-00001", 7_280)


def test_issue_of_missing_invoice_is_404(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(ilse).post(address(999), key()).status_code == 404


def test_technician_may_not_issue_any(
    ilse: Person, tobiah: Person, by: ByPerson, signed_in: SignedIn, key: Key
) -> None:
    draft, client = drafted(by=by(ilse)), signed_in(tobiah)

    statuses = [client.post(address(pk), key()).status_code for pk in (draft.pk, 999)]

    assert (statuses, Invoice.objects.get().number) == ([403, 403], None)


def test_issue_address_answers_no_get(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    assert signed_in(ilse).get(address(drafted(by=by(ilse)).pk)).status_code == 405

"""What is issued is what the draft showed, and nobody changes the customer between the sums and the paper."""

import json
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection

from shopapp.actions.actor import Actor
from shopapp.actions.customers import CustomerInput, edit_customer
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.refusals import Refused
from shopapp.models import Customer, Invoice, Person, TaxRate, WorkOrder
from tests.factories.invoices import drafted, finished_job
from tests.side_by_side import outcomes, started

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]
STALE = "The sums have changed since the draft was made; look at it again."


def make_exempt(draft: Invoice, *, by: Actor) -> None:
    """The desk writes down that this customer pays no tax."""
    customer = Customer.objects.get(pk=draft.customer_id)
    exempt = CustomerInput(
        name=customer.name, phone=customer.phone, is_tax_exempt=True, exemption_reason="Coast guard"
    )
    edit_customer(customer.pk, exempt, version=customer.version, by=by)


def raise_tax(draft: Invoice, *, by: Actor) -> None:
    """The provincial tax is 8 % from the day of issue on."""
    TaxRate.objects.filter(name="Provincial").update(rate_e6=80_000)


@pytest.mark.parametrize(
    # by hand: 65.00 without tax; with 5 % and 8 % 3.25 and 5.20
    ("change", "total"),
    [(make_exempt, 6_500), (raise_tax, 6_500 + 325 + 520)],
)
def test_issue_of_other_sums_is_refused(
    change: Callable[..., None], total: int, ilse: Person, by: ByPerson
) -> None:
    draft = drafted(by=by(ilse))
    change(draft, by=by(ilse))

    with pytest.raises(Refused, match=STALE):
        issue_invoice(draft.pk, by=by(ilse))

    left = Invoice.objects.get(pk=draft.pk)
    assert (left.number, left.total_minor, left.taxes.count()) == (None, 7_280, 2)
    again = draft_invoice(draft.work_order_id, by=by(ilse))
    invoice = issue_invoice(draft.pk, by=by(ilse))
    assert (again.pk, again.total_minor, invoice.total_minor) == (draft.pk, total, total)


def test_issue_with_another_reason_is_refused(ilse: Person, by: ByPerson) -> None:
    job = finished_job()
    Customer.objects.update(is_tax_exempt=True, exemption_reason="On reserve")
    draft = draft_invoice(job.work_order_id, by=by(ilse))
    make_exempt(draft, by=by(ilse))

    with pytest.raises(Refused, match=STALE):
        issue_invoice(draft.pk, by=by(ilse))


@pytest.mark.django_db(transaction=True)
def test_exemption_saved_meanwhile_waits_for_the_invoice(ilse: Person, by: ByPerson) -> None:
    draft = drafted(by=by(ilse))
    saved = threading.Event()

    def save() -> None:
        make_exempt(draft, by=by(ilse))
        saved.set()

    with ThreadPoolExecutor(1) as pool:
        edits: list[Future[Any]] = []

        def at_the_number(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
            # the sums are worked out, the paper is not written yet
            if "numberseries" in sql and not edits:
                edits.append(started(save, pool))
                saved.wait(1)
            return execute(sql, params, many, context)

        with connection.execute_wrapper(at_the_number):
            invoice = issue_invoice(draft.pk, by=by(ilse))
        edits[0].result(30)

    shown = json.loads(invoice.shown)
    assert Customer.objects.get(pk=invoice.customer_id).is_tax_exempt
    assert (invoice.tax_minor, shown["totals"]["tax_minor"]) == (780, 780)
    assert shown["buyer"]["exemption_reason"] == ""
    assert [line["tax_shown"] for job in shown["jobs"] for line in job["lines"]] == ["5\u00a0% + 7\u00a0%"]


@pytest.mark.django_db(transaction=True)
def test_drafts_of_one_customer_do_not_block(ilse: Person, maren: Person, by: ByPerson) -> None:
    first, second = finished_job().work_order, finished_job().work_order
    WorkOrder.objects.filter(pk=second.pk).update(customer=first.customer)
    visits = ((ilse, first.pk), (maren, second.pk))

    found = outcomes([lambda who=who, pk=pk: draft_invoice(pk, by=by(who)) for who, pk in visits])

    assert [draft.customer_id for draft in found] == [first.customer_id] * 2

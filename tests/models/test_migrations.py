"""A shop that was founded before a migration keeps what it billed and received."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Sum

from shopapp.models import Allocation, BilledSource, InvoiceLine, Job, Payment
from shopapp.queries.invoices import owed_minor, unbilled_lines
from shopapp.triggers import apply_triggers, remove_triggers

pytestmark = pytest.mark.django_db(transaction=True)
MOMENT = datetime(2026, 6, 2, 17, 30, tzinfo=UTC)
DAY = date(2026, 6, 2)
DIGEST = "0" * 64
ISSUED = {
    "number": "INV-00001",
    "issued_at": MOMENT,
    "issue_date": DAY,
    "tax_date": DAY,
    "due_date": DAY,
    "without_tax_minor": 10_000,
    "total_minor": 10_000,
    "shown": "{}",
    "shown_sha256": DIGEST,
}
PRICED = {
    "kind": "part",
    "description": "Impeller",
    "quantity_milli": 1_000,
    "unit": "each",
    "unit_price_e4": 1_000_000,
    "position": 1,
}


@pytest.fixture
def first_release(real_migrations: None) -> Iterator[Any]:
    """The database as the first release made it, and its rows as they were then."""
    remove_triggers(connection)
    with connection.schema_editor() as editor:
        for model in apps.get_app_config("shopapp").get_models():
            editor.delete_model(model)
    MigrationRecorder(connection).migration_qs.filter(app="shopapp").delete()
    call_command("migrate", "shopapp", "0001", verbosity=0)
    # what is put on now are the guards of today, which look into columns that were not there yet
    remove_triggers(connection)
    yield MigrationExecutor(connection).loader.project_state([("shopapp", "0001_initial")]).apps
    call_command("migrate", "shopapp", verbosity=0)


def paid_visit(release: Any) -> int:
    """A visit whose one line was agreed, billed and half paid; returns its key."""

    def make(model: str, /, **values: Any) -> Any:
        return release.get_model("shopapp", model).objects.create(**values)

    ilse = make("Person", username="ilse", name="Ilse Brandt")
    customer = make("Customer", name="Pia Lindqvist", phone="604 555 0100")
    vessel = make("Vessel", kept_on="trailer")
    visit = make(
        "WorkOrder",
        number="W-00001",
        vessel=vessel,
        customer=customer,
        complaint="Overheats",
        opened_at=MOMENT,
        opened_by=ilse,
    )
    job = make("Job", work_order=visit, complaint="Overheats", outcome="done")
    quote = make("Quote", work_order=visit, number="Q-00001")
    revision = make("QuoteRevision", quote=quote, revision=1, created_at=MOMENT)
    choice = make("QuoteChoice", revision=revision, job=job)
    option = make(
        "QuoteOption", choice=choice, position=1, way="mend", title="Mend", days=1, warranty_months=3
    )
    tax = make("TaxCode", name="Goods")
    line = make("QuoteLine", option=option, tax_code=tax, **PRICED)
    sent = {"state": "decided", "sent_at": MOMENT, "shown": "{}", "shown_sha256": DIGEST}
    release.get_model("shopapp", "QuoteRevision").objects.update(**sent)
    invoice = make("Invoice", work_order=visit, customer=customer, created_at=MOMENT)
    make("InvoiceLine", invoice=invoice, plan_line=line, tax_code=tax, amount_minor=10_000, **PRICED)
    release.get_model("shopapp", "Invoice").objects.update(**ISSUED)
    make("Payment", invoice=invoice, amount_minor=4_000, method="cash", received_at=MOMENT, taken_by=ilse)
    return int(visit.pk)


def comeback(release: Any, visit: int) -> None:
    """A second job on the visit that comes from the first: more was not asked then."""
    jobs = release.get_model("shopapp", "Job").objects
    cause = jobs.get(work_order=visit)
    jobs.create(work_order_id=visit, position=2, complaint="Overheats again", caused_by_job=cause)


def test_releases_take_over_bills_payments_and_comebacks(first_release: Any) -> None:
    visit = paid_visit(first_release)
    # a shop's guards are on until the migration takes them off
    apply_triggers(connection)

    call_command("migrate", "shopapp", "0007", verbosity=0)
    elder = MigrationExecutor(connection).loader.project_state([("shopapp", "0007_erased_customers")]).apps
    comeback(elder, visit)
    call_command("migrate", "shopapp", verbosity=0)

    line, payment = InvoiceLine.objects.get(), Payment.objects.get()
    assert BilledSource.objects.get().plan_line_id == line.plan_line_id
    assert (line.job.work_order_id, payment.work_order_id) == (visit, visit)
    assert Allocation.objects.aggregate(sum=Sum("amount_minor"))["sum"] == 4_000
    assert (owed_minor(payment.work_order), unbilled_lines().count()) == (6_000, 0)
    assert dict(Job.objects.values_list("position", "is_for_same_cause")) == {1: None, 2: True}

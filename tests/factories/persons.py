"""A customer about whom everything is written that may be: each text of theirs bears a mark to look for."""

from datetime import date, datetime, timedelta
from typing import Any

from django.apps import apps
from django.db import connection, models, transaction

from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.models import (
    Approval,
    CallSlip,
    CustodyEntry,
    Customer,
    CustomerLink,
    Intake,
    Invoice,
    ParkedForm,
    Person,
    PlacedHold,
    Question,
    QuoteRevision,
    VisitPerson,
    WorkOrder,
)
from shopapp.queries.personal_fields import Fate, fields_of
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories.customers import CustomerFactory, VesselFactory
from tests.factories.invoices import finished_job, paid
from tests.factories.quotes import answered, sent_quote
from tests.factories.work_orders import WorkOrderFactory

# in no other text of any test, and as long as the shortest field
MARKED = "Quist-7719"
PHONE = "604 771 9119"
FROM = "192.0.2.77"
HASH = "f" * 64
SHOWN = f'{{"facts": {{"customer": "{MARKED}"}}}}'
PLANTED_IN = (
    *(Customer, WorkOrder, VisitPerson, CustodyEntry, PlacedHold, Intake, Approval, QuoteRevision),
    *(CustomerLink, Question, CallSlip),
)


@transaction.atomic
def somebody(*, by: Actor, is_billed: bool) -> Customer:
    """One visit that is over, with all that belongs to it; billed and paid, or called off at the end."""
    person = by.person
    assert person is not None
    customer = CustomerFactory.create(name=MARKED, phone=PHONE)
    vessel = VesselFactory.create(owner=customer, registration=MARKED, hull_number="PM12345D494")
    visit = WorkOrderFactory.create(vessel=vessel, customer=customer, stage="ready")
    job = finished_job(work_order=visit)
    entry = Entry(verb="edit customer", record=customer, facts={"name": MARKED})
    opened = Entry(verb="open work order", record=visit, facts={"name": MARKED}, work_order=visit)
    activity.record([entry, opened], by=by)
    _write_all(visit, person=person, by=by)
    if is_billed:
        bill = issue_invoice(draft_invoice(visit.pk, by=by).pk, by=by)
        paid(bill, f"{bill.total_minor / 100:.2f}", by=by)
    job.stage = "gone"
    job.save()
    WorkOrder.objects.filter(pk=visit.pk).update(stage="gone", gone_at=by.at)
    _plant(visit)
    search_texts.index(Customer.objects.get(pk=customer.pk), vessel)
    return Customer.objects.get(pk=customer.pk)


def answered_visit(ilse: Person, *, at: datetime) -> Approval:
    """A quote that a customer answered and signed, by the real actions; the visit is over without a bill."""
    answer = answered(sent_quote(ilse, at=at), ilse, at=at)
    visit = answer.revision.quote.work_order
    visit.jobs.update(stage="gone", outcome="declined")
    WorkOrder.objects.filter(pk=visit.pk).update(stage="gone", gone_at=at)
    return answer


def billed(visit: WorkOrder, *, by: Actor) -> WorkOrder:
    """What was agreed on it is done, billed and paid, and the boat is gone."""
    visit.jobs.update(outcome="done", stage="ready")
    WorkOrder.objects.filter(pk=visit.pk).update(stage="ready")
    bill = issue_invoice(draft_invoice(visit.pk, by=by).pk, by=by)
    paid(bill, f"{bill.total_minor / 100:.2f}", by=by)
    visit.jobs.update(stage="gone")
    WorkOrder.objects.filter(pk=visit.pk).update(stage="gone")
    return visit


def _write_all(visit: WorkOrder, *, person: Person, by: Actor) -> None:
    at, revision = by.at, QuoteRevision.objects.get(quote__work_order=visit)
    VisitPerson.objects.create(work_order=visit, part="bringer", name=MARKED, phone=PHONE)
    CustodyEntry.objects.create(
        work_order=visit,
        thing="boat",
        move="in",
        who=MARKED,
        happened_at=at,
        recorded_at=at,
        recorded_by=person,
    )
    PlacedHold.objects.create(
        work_order=visit, kind="parts", chaser=person, chase_date=date(2026, 6, 4), placed_at=at,
        placed_by=person, released_at=at, released_by=person,
    )  # fmt: skip
    Intake.objects.create(
        work_order=visit, created_at=at, signed_at=at, signed_how="paper", signed_name=MARKED, shown=SHOWN,
        shown_sha256=HASH, signed_sha256=HASH,
    )  # fmt: skip
    link = CustomerLink.objects.create(
        revision=revision, token_sha256=f"{visit.pk:064d}", created_by=person, created_at=at,
        expires_at=at + timedelta(days=1), sent_to=PHONE,
    )  # fmt: skip
    Question.objects.create(revision=revision, link=link, text=MARKED, asked_at=at)
    CallSlip.objects.create(name=MARKED, phone=PHONE, about=MARKED, taken_by=person, taken_at=at)
    CallSlip.objects.create(customer=visit.customer, name=MARKED, about=MARKED, taken_by=person, taken_at=at)
    ParkedForm.objects.create(
        person=person, title="New arrival", path="/arrivals/new/", fields=[["phone", PHONE]], parked_at=at
    )


def _plant(visit: WorkOrder) -> None:
    """The mark stands in every field that is erased, past the guards where a row is frozen."""
    theirs: dict[type[models.Model], Any] = {Customer: {"pk": visit.customer_id}, WorkOrder: {"pk": visit.pk}}
    of_quote = {"revision__quote__work_order": visit}
    theirs |= dict.fromkeys((Approval, CustomerLink, Question), of_quote)
    theirs |= {QuoteRevision: {"quote__work_order": visit}, CallSlip: {}}
    remove_triggers(connection)
    for model in PLANTED_IN:
        names = fields_of(model.__name__, Fate.ERASED, Fate.WHILE_BILLED)
        values = {name: FROM if name == "address" and model is not Customer else MARKED for name in names}
        values |= {name: PHONE for name in names if name == "phone"}
        values |= {name: SHOWN for name in names if name == "shown"}
        model._default_manager.filter(**theirs.get(model, {"work_order": visit})).update(**values)
    apply_triggers(connection)


def traces() -> set[str]:
    """``Model.field`` of every column in the whole database in which the mark, number or address stands."""
    found = set()
    for model in apps.get_app_config("shopapp").get_models():
        for row in model._default_manager.values():
            found |= {
                f"{model.__name__}.{name}"
                for name, value in row.items()
                if any(mark.lower() in str(value).lower() for mark in (MARKED, PHONE, FROM, "7719119"))
            }
    return found


def figures() -> list[Any]:
    """Every number of money and time that there is, as reports read them."""
    bills = Invoice.objects.order_by("pk").values_list("number", "total_minor", "tax_minor", "shown_sha256")
    return [*bills, *Approval.objects.order_by("pk").values_list("without_tax_minor", "signed_sha256")]

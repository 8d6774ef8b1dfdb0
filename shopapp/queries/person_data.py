"""Everything that is kept about one customer, as plain rows for the file that the owner hands to them.

Field names are those of the records; amounts are whole numbers of the smallest coin. What the shop reckons
for itself (costs, wages, margins) is not about the customer and is not in it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from shopapp.models import (
    UNSENT,
    Activity,
    Approval,
    CallSlip,
    CustodyEntry,
    Customer,
    CustomerLink,
    EngineMounting,
    Intake,
    Invoice,
    Job,
    Payment,
    Photo,
    PlacedHold,
    Question,
    QuoteRevision,
    Refund,
    VesselOwnership,
    VisitPerson,
    WorkOrder,
)

type Row = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class DataTable:
    """The rows of one kind of record: a list in the JSON, and a table beside it."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True)
class PersonData:
    """The tables, and the photos by the names that they get in the file."""

    customer_pk: int
    tables: tuple[DataTable, ...]
    photos: Mapping[str, str]


def person_data(customer_pk: int) -> PersonData:
    """Everything about a customer; twenty queries, however much it is."""
    photos = (
        Photo.objects.filter(work_order__customer=customer_pk).select_related("work_order").order_by("pk")
    )
    tables = [*_about(customer_pk), *_visits(customer_pk), *_agreed(customer_pk), *_money(customer_pk)]
    return PersonData(
        customer_pk=customer_pk,
        tables=tuple(tables),
        photos={f"photos/{one.work_order.number}-{one.pk}.webp": one.sha256 for one in photos},
    )


def _table(name: str, rows: "QuerySet[Any]", columns: str) -> DataTable:
    names = tuple(columns.split())
    return DataTable(name=name, columns=names, rows=_plain(rows.order_by("pk").distinct().values(*names)))


def _plain(rows: Iterable[Row]) -> tuple[Row, ...]:
    return tuple(dict(row) for row in rows)


def _about(pk: int) -> Sequence[DataTable]:
    owned = VesselOwnership.objects.filter(customer=pk)
    mounted = EngineMounting.objects.filter(vessel__ownerships__customer=pk)
    doors = CustomerLink.objects.filter(
        Q(revision__quote__work_order__customer=pk) | Q(intake__work_order__customer=pk)
    )
    links = [f"link:{link}" for link in doors.values_list("pk", flat=True)]
    done = Activity.objects.filter(Q(record=f"customer:{pk}") | Q(actor__in=links))
    slips = CallSlip.objects.filter(Q(customer=pk) | Q(work_order__customer=pk))
    reached = "name phone email address note is_account payment_days needs_purchase_order"
    tax = "is_tax_exempt exemption_number exemption_reason erased_at"
    boat = "vessel__name vessel__make vessel__model vessel__length_cm vessel__hull_number"
    where = "vessel__registration vessel__kept_on from_date until_date"
    engine = "vessel_id position engine__make engine__model engine__serial engine__year from_date until_date"
    return (
        _table("customer", Customer.objects.filter(pk=pk), f"id {reached} {tax}"),
        _table("boats", owned, f"vessel_id {boat} {where}"),
        _table("engines", mounted, engine),
        _table("calls", slips, "name phone about call_by_at taken_at done_at answer"),
        _table("links", doors, "purpose sent_to created_at expires_at revoked_at"),
        _table("activity", done, "seq happened_at scope verb record payload"),
    )


def _visits(pk: int) -> Sequence[DataTable]:
    visits = WorkOrder.objects.filter(customer=pk)
    people = VisitPerson.objects.filter(Q(customer=pk) | Q(work_order__customer=pk))
    came = "number stage complaint arrival_state fuel keys_tag loose_gear trailer purchase_order place"
    went = "promised_date opened_at told_at told_how gone_at gone_to release_reason cancelled_reason"
    of_visit = "work_order__number"
    job = "position complaint cause correction price_kind test_kind outcome"
    held = PlacedHold.objects.filter(work_order__customer=pk)
    moved = CustodyEntry.objects.filter(work_order__customer=pk)
    photos = Photo.objects.filter(work_order__customer=pk)
    return (
        _table("visits", visits, f"{came} {went}"),
        _table("jobs", Job.objects.filter(work_order__customer=pk), f"{of_visit} {job}"),
        _table("people_on_visits", people, f"{of_visit} part name phone up_to_minor"),
        _table("holds", held, f"{of_visit} kind note chase_date placed_at released_at"),
        _table("custody", moved, f"{of_visit} thing move who place note happened_at"),
        _table("photos", photos, f"id {of_visit} caption taken_at is_of_arrival"),
    )


def _agreed(pk: int) -> Sequence[DataTable]:
    signed = Intake.objects.filter(work_order__customer=pk, signed_at__isnull=False)
    sent = QuoteRevision.objects.filter(quote__work_order__customer=pk).exclude(state__in=UNSENT)
    answers = Approval.objects.filter(revision__quote__work_order__customer=pk)
    asked = Question.objects.filter(revision__quote__work_order__customer=pk)
    signature = "signed_name strokes address device"
    said = "decision how without_tax_minor with_tax_minor reason called_number extra_work relation"
    return (
        _table("terms", signed, f"work_order__number signed_at signed_how {signature} shown"),
        _table("quotes", sent, "quote__number revision state sent_at valid_until_date shown"),
        _table(
            "answers", answers, f"revision__quote__number revision__revision decided_at {said} {signature}"
        ),
        _table("questions", asked, "revision__quote__number text asked_at answer answered_at"),
    )


def _money(pk: int) -> Sequence[DataTable]:
    bills = Invoice.objects.filter(Q(customer=pk) | Q(work_order__customer=pk), issued_at__isnull=False)
    theirs = Q(work_order__customer=pk) | Q(invoice__customer=pk)
    paid = Payment.objects.filter(theirs)
    back = Refund.objects.filter(payment__in=paid)
    days = "kind number issue_date tax_date due_date purchase_order"
    sums = "without_tax_minor tax_minor total_minor deposit_minor shown"
    return (
        _table("invoices", bills, f"{days} {sums}"),
        _table("payments", paid, "number invoice__number amount_minor method note received_at"),
        _table("refunds", back, "payment__number amount_minor method note given_at"),
    )

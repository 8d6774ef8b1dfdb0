"""Call slips: who waits to be called back, the most pressing first, and what was called back lately."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import F, QuerySet

from shopapp.models import CallSlip, Customer, Person, WorkOrder
from shopapp.queries.customers import phone_digits
from shopapp.queries.people import Colleague
from shopapp.queries.versions import Conflict

DONE_SHOWN = 30


@dataclass(frozen=True, kw_only=True)
class Slip:
    """A call slip ready to show; ``is_due``: the moment to call back is over."""

    pk: int
    name: str
    phone: str
    phone_digits: str
    about: str
    call_by_at: datetime | None
    is_due: bool
    for_person: str
    taken_by: str
    taken_at: datetime
    customer_pk: int | None
    customer: str
    work_order_pk: int | None
    work_order: str
    done_at: datetime | None
    done_by: str
    answer: str


@dataclass(frozen=True, kw_only=True)
class CallsPage:
    """Everybody who waits for a call, and the latest calls that were made."""

    waiting: tuple[Slip, ...]
    done: tuple[Slip, ...]


@dataclass(frozen=True, kw_only=True)
class CallPage:
    """What stands beside the form of a slip: what it belongs to, and who may be asked to call."""

    pk: int | None
    people: tuple[Colleague, ...]
    customer: str
    customer_pk: int | None
    work_order: str
    work_order_pk: int | None
    name: str
    phone: str
    conflict: Conflict | None = None


def calls_page(*, now: datetime) -> CallsPage:
    """Two queries."""
    done = with_names(CallSlip.objects.filter(done_at__isnull=False)).order_by("-done_at", "-pk")
    return CallsPage(waiting=as_slips(waiting_slips(), now=now), done=as_slips(done[:DONE_SHOWN], now=now))


def waiting_slips() -> QuerySet[CallSlip]:
    """Open slips, those with a moment first, the earliest on top."""
    rows = with_names(CallSlip.objects.filter(done_at=None))
    return rows.order_by(F("call_by_at").asc(nulls_last=True), "taken_at", "pk")


def with_names(rows: QuerySet[CallSlip]) -> QuerySet[CallSlip]:
    """The slips with everybody they name."""
    return rows.select_related("customer", "work_order", "for_person", "taken_by", "done_by")


def as_slips(rows: Iterable[CallSlip], *, now: datetime) -> tuple[Slip, ...]:
    """Slips fetched by ``with_names``, ready to show. No query."""
    return tuple(
        Slip(
            pk=row.pk,
            name=row.name,
            phone=row.phone,
            phone_digits=phone_digits(row.phone),
            about=row.about,
            call_by_at=row.call_by_at,
            is_due=row.done_at is None and row.call_by_at is not None and row.call_by_at <= now,
            for_person=row.for_person.name if row.for_person is not None else "",
            taken_by=row.taken_by.name,
            taken_at=row.taken_at,
            customer_pk=row.customer_id,
            customer=row.customer.name if row.customer is not None else "",
            work_order_pk=row.work_order_id,
            work_order=row.work_order.number if row.work_order is not None else "",
            done_at=row.done_at,
            done_by=row.done_by.name if row.done_by is not None else "",
            answer=row.answer,
        )
        for row in rows
    )


def new_call_page(*, customer: int | None, work_order: int | None) -> CallPage | None:
    """A new slip about a customer, a visit or neither; None when one of them is missing. Three queries."""
    visit = WorkOrder.objects.select_related("customer").filter(pk=work_order).first() if work_order else None
    known = Customer.objects.filter(pk=customer).first() if customer else visit.customer if visit else None
    if (work_order is not None and visit is None) or (customer is not None and known is None):
        return None
    return _page(known, visit)


def call_page(slip: CallSlip, *, conflict: Conflict | None = None) -> CallPage:
    """What stands beside the form of a slip that was fetched with its customer and work order. One query."""
    page = _page(slip.customer, slip.work_order)
    return replace(page, pk=slip.pk, name=slip.name, phone=slip.phone, conflict=conflict)


def _page(customer: Customer | None, visit: WorkOrder | None) -> CallPage:
    return CallPage(
        pk=None,
        people=everybody(),
        customer=customer.name if customer is not None else "",
        customer_pk=customer.pk if customer is not None else None,
        work_order=visit.number if visit is not None else "",
        work_order_pk=visit.pk if visit is not None else None,
        name=customer.name if customer is not None else "",
        phone=customer.phone if customer is not None else "",
    )


def everybody() -> tuple[Colleague, ...]:
    """Everybody who still works here, by name. One query; no wages."""
    rows = Person.objects.filter(is_active=True).order_by("name", "pk").values_list("pk", "name")
    return tuple(Colleague(pk=pk, name=name) for pk, name in rows)

"""What a person touched last, from the activity chain: one thing once, newest first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.models import Activity, Customer, Engine, Invoice, Person, Vessel, WorkOrder
from shopapp.queries.engines import engine_words
from shopapp.queries.invoices import buyer_words
from shopapp.queries.vessels import boat_words

SHOWN = 12
LINKS_READ = 150
type Key = tuple[str, int]


@dataclass(frozen=True, kw_only=True)
class Recent:
    """Something that was touched, and where it is."""

    pk: int
    url_name: str
    sign: str
    words: str
    touched_at: datetime


@dataclass(frozen=True, kw_only=True)
class RecentPage:
    """The last things, newest first."""

    items: tuple[Recent, ...]


def recent_page(person: Person) -> RecentPage:
    """Seven queries at most. A technician sees visits that are still theirs, and nothing else."""
    links = Activity.objects.filter(actor=f"person:{person.pk}").order_by("-seq")
    touched: dict[Key, datetime] = {}
    for record, visit, at in links.values_list("record", "work_order", "happened_at")[:LINKS_READ]:
        touched.setdefault(_key(record, visit), at)
    is_desk = access.may_use_desk(person)
    names = _names(touched, visits=_visits(person), is_desk=is_desk)
    shown = [key for key in touched if key in names][:SHOWN]
    return RecentPage(
        items=tuple(
            Recent(
                pk=key[1],
                url_name=URLS[key[0]],
                sign=SIGNS[key[0]],
                words=names[key],
                touched_at=touched[key],
            )
            for key in shown
        )
    )


# kind of record → the page that shows it, and its sign
URLS = {
    "workorder": "work_orders:detail",
    "customer": "customers:detail",
    "vessel": "customers:vessel",
    "engine": "customers:engine",
    "invoice": "invoices:detail",
}
SIGNS = {
    "workorder": "here",
    "customer": "person",
    "vessel": "boat",
    "engine": "engine",
    "invoice": "hold-payment",
}


def _key(record: str, visit: int | None) -> Key:
    """A bill, a customer, a boat is itself; whatever else belongs to a visit is that visit."""
    kind, _colon, number = record.partition(":")
    is_itself = kind in URLS or visit is None
    return (kind, int(number)) if is_itself else ("workorder", int(visit or 0))


def _visits(person: Person) -> QuerySet[WorkOrder]:
    rows = WorkOrder.objects.select_related("vessel", "customer")
    return rows if access.may_use_desk(person) else rows.for_technician(person.pk)


def _names(touched: Iterable[Key], *, visits: QuerySet[WorkOrder], is_desk: bool) -> Mapping[Key, str]:
    def keys(kind: str) -> list[int]:
        return [pk for found, pk in touched if found == kind]

    names: dict[Key, str] = {
        ("workorder", row.pk): f"{row.number} · {boat_words(row.vessel)} · {row.customer.name}"
        for row in visits.filter(pk__in=keys("workorder"))
    }
    if not is_desk:
        return names
    names |= {("customer", row.pk): row.name for row in Customer.objects.filter(pk__in=keys("customer"))}
    names |= {("vessel", row.pk): boat_words(row) for row in Vessel.objects.filter(pk__in=keys("vessel"))}
    names |= {("engine", row.pk): engine_words(row) for row in Engine.objects.filter(pk__in=keys("engine"))}
    bills = Invoice.objects.select_related("customer").filter(pk__in=keys("invoice"))
    names |= {
        ("invoice", row.pk): f"{row.number or _('Draft invoice')} · {buyer_words(row)}" for row in bills
    }
    return names

"""Customers with their boats and visits, and those who may be the same person as somebody new."""

import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max

from shopapp import access
from shopapp.models import Customer, Person, Vessel, VesselOwnership, WorkOrder
from shopapp.queries.engines import MountedEngine, mounted_engines
from shopapp.queries.find import matching_ids, normalise
from shopapp.queries.paging import Pager, pager_for
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import HullReading, Owner, boat_words, hull_reading, owners_of
from shopapp.queries.visits import Visit, as_visits

SAME_TAIL = 7
LIKELY_SHOWN = 8
LIKELY_BOATS = 5
MOST_FOUND = 500
VISITS_SHOWN = 10


@dataclass(frozen=True, kw_only=True)
class LikelyBoat:
    """A boat of somebody likely."""

    pk: int
    name: str


@dataclass(frozen=True, kw_only=True)
class LikelyCustomer:
    """Somebody known who has the name or the telephone of somebody new, with a few of their boats."""

    pk: int
    name: str
    phone: str
    boats: tuple[LikelyBoat, ...]


@dataclass(frozen=True, kw_only=True)
class CustomerRow:
    """A customer as a row of the list."""

    pk: int
    name: str
    phone: str
    boats: str
    last_visit: datetime | None


@dataclass(frozen=True, kw_only=True)
class CustomersPage:
    """The list of customers, or those who were asked for."""

    question: str
    rows: tuple[CustomerRow, ...]
    pager: Pager


@dataclass(frozen=True, kw_only=True)
class Boat:
    """A boat of a customer with the engines on it now."""

    pk: int
    name: str
    make: str
    kept_on: str
    hull_number: str
    engines: tuple[MountedEngine, ...]


@dataclass(frozen=True, kw_only=True)
class CustomerPage:
    """One customer: how to reach them, what they own, when they were here. ``exemption`` is empty if none.

    ``sees_data``: the way to handing out and erasing what is kept of them.
    """

    pk: int
    name: str
    phone: str
    phone_digits: str
    email: str
    address: str
    note: str
    exemption: str
    is_erased: bool
    sees_data: bool
    boats: tuple[Boat, ...]
    visits: tuple[Visit, ...]
    pager: Pager


@dataclass(frozen=True, kw_only=True)
class CustomerEditPage:
    """What stands beside the form of a customer."""

    pk: int
    name: str
    conflict: Conflict | None


@dataclass(frozen=True, kw_only=True)
class VesselPage:
    """What stands beside the form of a boat."""

    pk: int
    name: str
    owner: Owner | None
    earlier_owners: tuple[Owner, ...]
    engines: tuple[MountedEngine, ...]
    visits: tuple[Visit, ...]
    hull: HullReading | None
    conflict: Conflict | None


def phone_digits(phone: str) -> str:
    """The digits of a telephone number, in plain figures.

    >>> phone_digits("(604) 555-0142")
    '6045550142'
    """
    plain = unicodedata.normalize("NFKD", phone)
    return "".join(char for char in plain if char.isdecimal())


def likely_customers(*, name: str, phone: str) -> tuple[LikelyCustomer, ...]:
    """Known customers with this name, or whose telephone ends in the same digits. Four queries at most."""
    words, digits = normalise(name), phone_digits(phone)
    hits = [
        *matching_ids(digits[-SAME_TAIL:], kinds=["customer"], limit=MOST_FOUND),
        *matching_ids(words, kinds=["customer"], limit=MOST_FOUND),
    ]
    known = Customer.objects.filter(pk__in={pk for _, pk in hits}).order_by("name", "pk")
    alike = [row for row in known if _is_alike(row, words=words, digits=digits)][:LIKELY_SHOWN]
    boats: dict[int, list[LikelyBoat]] = defaultdict(list)
    for owned in _owned_by(row.pk for row in alike):
        boats[owned.customer_id].append(LikelyBoat(pk=owned.vessel_id, name=boat_words(owned.vessel)))
    return tuple(
        LikelyCustomer(pk=row.pk, name=row.name, phone=row.phone, boats=tuple(boats[row.pk][:LIKELY_BOATS]))
        for row in alike
    )


def _is_alike(row: Customer, *, words: str, digits: str) -> bool:
    return (words != "" and normalise(row.name) == words) or _is_same_number(phone_digits(row.phone), digits)


def _is_same_number(one: str, other: str) -> bool:
    # with or without area code, country code or the nought in front of them it is the same telephone
    shorter, longer = sorted((one.lstrip("0"), other.lstrip("0")), key=len)
    if len(shorter) < SAME_TAIL:
        return shorter == longer != ""
    return longer.endswith(shorter)


def _boats_in_words(customer_pks: Iterable[int]) -> Mapping[int, str]:
    """Customer → names of their boats now. One query."""
    names: dict[int, list[str]] = defaultdict(list)
    for row in _owned_by(customer_pks):
        names[row.customer_id].append(boat_words(row.vessel))
    return defaultdict(str, {pk: ", ".join(boats) for pk, boats in names.items()})


def _owned_by(customer_pks: Iterable[int]) -> Iterable[VesselOwnership]:
    rows = VesselOwnership.objects.filter(customer__in=list(customer_pks), until_date=None)
    return rows.select_related("vessel").order_by("vessel__name", "pk")


def customers_page(*, question: str, number: int) -> CustomersPage:
    """A page of customers by name, or of those who hold every word of the question. Four queries at most."""
    rows = Customer.objects.filter(erased_at=None).order_by("name", "pk")
    if question.strip():
        hits = matching_ids(question, kinds=["customer"], limit=MOST_FOUND)
        rows = rows.filter(pk__in=[pk for _, pk in hits])
    pager = pager_for(rows.count(), wanted=number)
    shown = list(rows[pager.start : pager.end])
    boats = _boats_in_words(row.pk for row in shown)
    visits = _last_visits(row.pk for row in shown)
    return CustomersPage(
        question=question,
        pager=pager,
        rows=tuple(
            CustomerRow(
                pk=row.pk,
                name=row.name,
                phone=row.phone,
                boats=boats[row.pk],
                last_visit=visits.get(row.pk),
            )
            for row in shown
        ),
    )


def _last_visits(customer_pks: Iterable[int]) -> Mapping[int, datetime]:
    rows = WorkOrder.objects.filter(customer__in=list(customer_pks)).values("customer")
    return dict(rows.annotate(last=Max("opened_at")).values_list("customer", "last"))


def customer_page(customer: Customer, *, number: int, viewer: Person) -> CustomerPage:
    """Everything about one customer, with a page of their visits, newest first. Four queries."""
    visits = (
        WorkOrder.objects.filter(customer=customer).select_related("vessel").order_by("-opened_at", "-pk")
    )
    pager = pager_for(visits.count(), wanted=number)
    exemption = [customer.exemption_reason, customer.exemption_number] if customer.is_tax_exempt else []
    return CustomerPage(
        pk=customer.pk,
        name=customer.name,
        phone=customer.phone,
        phone_digits=phone_digits(customer.phone),
        email=customer.email,
        address=customer.address,
        note=customer.note,
        exemption=", ".join(filter(None, exemption)),
        is_erased=customer.erased_at is not None,
        sees_data=access.may_erase(viewer),
        boats=boats_of(customer.pk),
        visits=as_visits(visits[pager.start : pager.end]),
        pager=pager,
    )


def boats_of(customer_pk: int) -> tuple[Boat, ...]:
    """The boats a customer owns now, with the engines on them. Two queries."""
    vessels = [row.vessel for row in _owned_by([customer_pk])]
    engines: dict[int, list[MountedEngine]] = defaultdict(list)
    for engine in mounted_engines(vessel.pk for vessel in vessels):
        engines[engine.vessel_pk].append(engine)
    return tuple(
        Boat(
            pk=vessel.pk,
            name=boat_words(vessel),
            make=" ".join(filter(None, [vessel.make, vessel.model])),
            kept_on=vessel.kept_on,
            hull_number=vessel.hull_number,
            engines=tuple(engines[vessel.pk]),
        )
        for vessel in vessels
    )


def customer_edit_page(customer: Customer, *, conflict: Conflict | None = None) -> CustomerEditPage:
    """What stands beside the form of a customer. No query."""
    return CustomerEditPage(pk=customer.pk, name=customer.name, conflict=conflict)


def vessel_page(vessel: Vessel, *, hull_number: str, conflict: Conflict | None = None) -> VesselPage:
    """What stands beside the form of a boat; ``hull_number`` may be one just being typed. Three queries."""
    owners = owners_of(vessel.pk)
    visits = WorkOrder.objects.filter(vessel=vessel).select_related("vessel").order_by("-opened_at", "-pk")
    return VesselPage(
        pk=vessel.pk,
        name=boat_words(vessel),
        owner=next((owner for owner in owners if owner.until_date is None), None),
        earlier_owners=tuple(owner for owner in owners if owner.until_date is not None),
        engines=mounted_engines([vessel.pk]),
        visits=as_visits(visits[:VISITS_SHOWN]),
        hull=hull_reading(hull_number),
        conflict=conflict,
    )

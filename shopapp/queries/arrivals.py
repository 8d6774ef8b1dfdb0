"""Finding whoever arrives, and what the counter needs to take a boat in."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode

from django.db.models import Max

from shopapp.models import Customer, EngineMounting, Invoice, Shop, Vessel, VesselOwnership, WorkOrder
from shopapp.queries.custody import OpenVisit, open_visits
from shopapp.queries.customers import Boat, LikelyCustomer, boats_of, likely_customers
from shopapp.queries.engines import MountedEngine, mounted_engines
from shopapp.queries.find import matching_ids
from shopapp.queries.intakes import UsualTerms, usual_terms
from shopapp.queries.invoices import buyer_words
from shopapp.queries.people import Colleague, technicians
from shopapp.queries.seen_lately import LatelyJob, seen_lately
from shopapp.queries.shop import the_shop
from shopapp.queries.vessels import HullReading, boat_words, hull_reading
from shopapp.queries.visits import StageChip, stage_chip

LONGEST_QUESTION = 100
ROWS_SHOWN = 30
PAPERS_SHOWN = 10
PAYERS_SHOWN = 8


@dataclass(frozen=True, kw_only=True)
class FoundBoat:
    """A boat that fits the question, with whoever owns it now (``owner_pk`` None: nobody is known)."""

    pk: int
    name: str
    owner_pk: int | None
    owner: str
    phone: str
    engines: tuple[MountedEngine, ...]
    last_visit: datetime | None


@dataclass(frozen=True, kw_only=True)
class FoundCustomer:
    """A customer who fits the question and owns no boat now."""

    pk: int
    name: str
    phone: str


@dataclass(frozen=True, kw_only=True)
class FoundWorkOrder:
    """A visit whose number fits the question."""

    pk: int
    number: str
    boat: str
    customer: str
    stage: StageChip


@dataclass(frozen=True, kw_only=True)
class FoundInvoice:
    """An issued invoice whose number fits the question."""

    pk: int
    number: str
    customer: str


@dataclass(frozen=True, kw_only=True)
class FindPage:
    """Everything that fits a question; ``is_cut``: there is more than is shown."""

    question: str
    boats: tuple[FoundBoat, ...] = ()
    customers: tuple[FoundCustomer, ...] = ()
    work_orders: tuple[FoundWorkOrder, ...] = ()
    invoices: tuple[FoundInvoice, ...] = ()
    is_cut: bool = False

    @property
    def count(self) -> int:
        """How many rows are shown."""
        return len(self.boats) + len(self.customers) + len(self.work_orders) + len(self.invoices)


@dataclass(frozen=True, kw_only=True)
class Subject:
    """Who and what arrives, as far as it is known: ids of rows; ``is_owner_new``: the boat was sold."""

    vessel: int | None = None
    customer: int | None = None
    is_owner_new: bool = False

    @property
    def query(self) -> str:
        """The same as the end of an address, such as ``vessel=3&customer=new``."""
        customer = "new" if self.is_owner_new else self.customer
        parts = {"vessel": self.vessel, "customer": customer}
        return urlencode({name: value for name, value in parts.items() if value is not None})


@dataclass(frozen=True, kw_only=True)
class Typed:
    """What was typed so far and may fit somebody known, or be odd."""

    name: str = ""
    phone: str = ""
    hull_number: str = ""
    payer: str = ""


@dataclass(frozen=True, kw_only=True)
class KnownCustomer:
    """The customer of this arrival, when they are known."""

    pk: int
    name: str
    phone: str
    needs_purchase_order: bool


@dataclass(frozen=True, kw_only=True)
class KnownBoat:
    """The boat of this arrival, when it is known."""

    pk: int
    name: str
    kept_on: str
    hull_number: str


@dataclass(frozen=True, kw_only=True)
class ArrivalPage:
    """Taking a boat in: what is known, what can be chosen, and what to look at twice."""

    vessel: KnownBoat | None
    customer: KnownCustomer | None
    boats: tuple[Boat, ...]
    engines: tuple[MountedEngine, ...]
    technicians: tuple[Colleague, ...]
    likely: tuple[LikelyCustomer, ...]
    payers: tuple[FoundCustomer, ...]
    usual: UsualTerms
    visits: tuple[OpenVisit, ...]
    lately: tuple[LatelyJob, ...]
    hull: HullReading | None
    is_owner_new: bool
    query: str


def find_page(question: str) -> FindPage:
    """Boats, customers, visits and invoices that hold every word of the question. Ten queries at most."""
    asked = question[:LONGEST_QUESTION]
    hits = matching_ids(asked, kinds=["customer", "vessel", "engine"], limit=2 * ROWS_SHOWN)
    papers = matching_ids(asked, kinds=["workorder", "invoice"], limit=PAPERS_SHOWN)
    vessels = _vessels_of(hits)
    boats = _found_boats(vessels[:ROWS_SHOWN])
    return FindPage(
        question=asked,
        boats=boats,
        customers=_boatless(_ids(hits, "customer")),
        work_orders=_found_work_orders(_ids(papers, "workorder")),
        invoices=_found_invoices(_ids(papers, "invoice")),
        is_cut=len(vessels) > ROWS_SHOWN or len(hits) == 2 * ROWS_SHOWN or len(papers) == PAPERS_SHOWN,
    )


def _ids(hits: Sequence[tuple[str, int]], kind: str) -> list[int]:
    return [pk for found, pk in hits if found == kind]


def _vessels_of(hits: Sequence[tuple[str, int]]) -> list[Vessel]:
    """Boats that fit themselves, by their owner now, or by an engine on them now; newest first."""
    # ids first: one OR over joins would make the database read every boat
    owned = VesselOwnership.objects.filter(customer__in=_ids(hits, "customer"), until_date=None)
    mounted = EngineMounting.objects.filter(engine__in=_ids(hits, "engine"), until_date=None)
    related = owned.values_list("vessel", flat=True).union(mounted.values_list("vessel", flat=True))
    pks = sorted({*_ids(hits, "vessel"), *related}, reverse=True)
    return list(Vessel.objects.filter(pk__in=pks[: ROWS_SHOWN + 1]).order_by("-pk"))


def _found_boats(vessels: Sequence[Vessel]) -> tuple[FoundBoat, ...]:
    pks = [vessel.pk for vessel in vessels]
    owners = _owners_now(pks)
    engines: dict[int, list[MountedEngine]] = defaultdict(list)
    for engine in mounted_engines(pks):
        engines[engine.vessel_pk].append(engine)
    visits = WorkOrder.objects.filter(vessel__in=pks).values("vessel").annotate(last=Max("opened_at"))
    last_visits = dict(visits.values_list("vessel", "last"))
    return tuple(
        _found_boat(
            vessel,
            owner=owners.get(vessel.pk),
            engines=engines[vessel.pk],
            last_visit=last_visits.get(vessel.pk),
        )
        for vessel in vessels
    )


def _found_boat(
    vessel: Vessel,
    *,
    owner: Customer | None,
    engines: Sequence[MountedEngine],
    last_visit: datetime | None,
) -> FoundBoat:
    return FoundBoat(
        pk=vessel.pk,
        name=boat_words(vessel),
        owner_pk=owner.pk if owner is not None else None,
        owner=owner.name if owner is not None else "",
        phone=owner.phone if owner is not None else "",
        engines=tuple(engines),
        last_visit=last_visit,
    )


def _owners_now(vessel_pks: Iterable[int]) -> Mapping[int, Customer]:
    rows = VesselOwnership.objects.filter(vessel__in=list(vessel_pks), until_date=None)
    return {row.vessel_id: row.customer for row in rows.select_related("customer")}


def _boatless(customer_pks: Sequence[int]) -> tuple[FoundCustomer, ...]:
    rows = Customer.objects.filter(pk__in=customer_pks).exclude(
        pk__in=VesselOwnership.objects.filter(customer__in=customer_pks, until_date=None).values("customer")
    )
    shown = rows.order_by("name", "pk")[:ROWS_SHOWN]
    return tuple(FoundCustomer(pk=row.pk, name=row.name, phone=row.phone) for row in shown)


def _found_work_orders(pks: Sequence[int]) -> tuple[FoundWorkOrder, ...]:
    rows = WorkOrder.objects.filter(pk__in=pks).select_related("vessel", "customer").order_by("-pk")
    return tuple(
        FoundWorkOrder(
            pk=row.pk,
            number=row.number,
            boat=boat_words(row.vessel),
            customer=row.customer.name,
            stage=stage_chip(row.stage),
        )
        for row in rows
    )


def _found_invoices(pks: Sequence[int]) -> tuple[FoundInvoice, ...]:
    rows = Invoice.objects.filter(pk__in=pks).exclude(number=None).order_by("-pk")
    return tuple(
        FoundInvoice(pk=row.pk, number=row.number or "", customer=buyer_words(row))
        for row in rows.select_related("customer")
    )


def arrival_page(subject: Subject, *, typed: Typed, at: datetime) -> ArrivalPage | None:
    """What the counter needs to take a boat in; None when a row of the subject is missing.

    Thirteen queries at most, the same number whatever the customer owns.
    """
    vessel = Vessel.objects.filter(pk=subject.vessel).first() if subject.vessel is not None else None
    customer = _customer_of(subject)
    is_missing = subject.vessel is not None and vessel is None
    if is_missing or (subject.customer is not None and customer is None):
        return None
    shop, engines = the_shop(), mounted_engines([vessel.pk]) if vessel is not None else ()
    return ArrivalPage(
        vessel=_known_boat(vessel),
        customer=_known_customer(customer),
        boats=boats_of(customer.pk) if customer is not None and vessel is None else (),
        engines=engines,
        technicians=technicians(),
        likely=likely_customers(name=typed.name, phone=typed.phone) if customer is None else (),
        payers=payers_of(typed.payer),
        usual=usual_terms(shop),
        visits=open_visits(vessel.pk) if vessel is not None else (),
        lately=_lately(vessel, engines=engines, shop=shop, at=at),
        hull=hull_reading(typed.hull_number),
        is_owner_new=vessel is not None and (subject.is_owner_new or subject.customer is not None),
        query=subject.query,
    )


def _lately(
    vessel: Vessel | None, *, engines: Sequence[MountedEngine], shop: Shop, at: datetime
) -> tuple[LatelyJob, ...]:
    if vessel is None:
        return ()
    return seen_lately(vessel=vessel.pk, engines=[one.pk for one in engines], shop=shop, at=at)


def payers_of(asked: str) -> tuple[FoundCustomer, ...]:
    """Customers who fit what was typed of whoever pays. Two queries, none for an empty text."""
    hits = matching_ids(asked[:LONGEST_QUESTION], kinds=["customer"], limit=PAYERS_SHOWN)
    rows = Customer.objects.filter(pk__in=_ids(hits, "customer")).order_by("name", "pk") if hits else ()
    return tuple(FoundCustomer(pk=row.pk, name=row.name, phone=row.phone) for row in rows)


def _customer_of(subject: Subject) -> Customer | None:
    if subject.is_owner_new:
        return None
    if subject.customer is not None:
        return Customer.objects.filter(pk=subject.customer).first()
    owned = VesselOwnership.objects.filter(vessel=subject.vessel, until_date=None)
    found = owned.select_related("customer").first() if subject.vessel is not None else None
    return found.customer if found is not None else None


def _known_customer(row: Customer | None) -> KnownCustomer | None:
    if row is None:
        return None
    return KnownCustomer(
        pk=row.pk, name=row.name, phone=row.phone, needs_purchase_order=row.needs_purchase_order
    )


def _known_boat(row: Vessel | None) -> KnownBoat | None:
    if row is None:
        return None
    return KnownBoat(pk=row.pk, name=boat_words(row), kept_on=row.kept_on, hull_number=row.hull_number)

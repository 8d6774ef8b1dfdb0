"""Find: what fits the words in the box, grouped; the desk finds everything, a technician their own visits."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.models import (
    CLOSED_STAGES,
    Customer,
    EngineMounting,
    Invoice,
    InvoiceKind,
    Job,
    JobAssignment,
    Part,
    Payment,
    Person,
    Quote,
    QuoteRevision,
    Vessel,
    VesselOwnership,
    WorkOrder,
)
from shopapp.queries.engines import MountedEngine, mounted_engines
from shopapp.queries.find import matching_ids, numbered_ids
from shopapp.queries.invoices import buyer_words
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip

LONGEST_QUESTION = 100
ROWS_SHOWN = 12
HITS_READ = 120
# a technician's own visits are picked out of what fits in the whole shop
HITS_READ_FOR_OWN = 1_000
DESK_KINDS = ("customer", "vessel", "engine", "workorder", "quote", "invoice", "payment", "part")
OWN_KINDS = ("customer", "vessel", "engine", "workorder", "part")
type Hits = Mapping[str, Sequence[int]]


@dataclass(frozen=True, kw_only=True)
class Visited:
    """The open visit of a boat that was found."""

    pk: int
    number: str
    stage: StageChip


@dataclass(frozen=True, kw_only=True)
class Answer:
    """Something that fits: its name, what tells it apart, and where it leads (nowhere without a name)."""

    pk: int
    url_name: str
    words: str
    detail: str = ""
    stage: StageChip | None = None
    visit: Visited | None = None
    # the boat or the customer with whom a new arrival may begin, as the end of an address
    arrival: str = ""


@dataclass(frozen=True, kw_only=True)
class Group:
    """Answers of one kind under their heading."""

    code: str
    heading: str
    answers: tuple[Answer, ...]


@dataclass(frozen=True, kw_only=True)
class FindPage:
    """What fits the question; ``is_cut``: there is more than is shown."""

    question: str
    groups: tuple[Group, ...] = ()
    is_cut: bool = False
    is_desk: bool = False

    @property
    def count(self) -> int:
        """How many answers are shown."""
        return sum(len(group.answers) for group in self.groups)


def find_page(question: str, *, viewer: Person) -> FindPage:
    """Everything that holds every word of the question, documents by their number first.

    Eleven queries at most for the desk, four for a technician, who finds parts and their own visits only.
    """
    asked = question[:LONGEST_QUESTION]
    is_desk = access.may_use_desk(viewer)
    kinds, limit = (DESK_KINDS, HITS_READ) if is_desk else (OWN_KINDS, HITS_READ_FOR_OWN)
    found = _found(asked, kinds=kinds, limit=limit)
    hits: dict[str, list[int]] = defaultdict(list)
    for kind, pk in found:
        hits[kind].append(pk)
    groups = _desk_groups(hits) if is_desk else _own_groups(hits, viewer=viewer)
    return FindPage(
        question=asked,
        groups=tuple(
            Group(code=group.code, heading=group.heading, answers=group.answers[:ROWS_SHOWN])
            for group in groups
            if group.answers
        ),
        is_cut=len(found) >= limit or any(len(group.answers) > ROWS_SHOWN for group in groups),
        is_desk=is_desk,
    )


def _found(question: str, *, kinds: Sequence[str], limit: int) -> list[tuple[str, int]]:
    """Documents whose number is the question, then whatever holds its words; each once."""
    numbered = numbered_ids(question, kinds=kinds, limit=limit)
    # "w3" is a number: what merely begins with a w and a 3 somewhere would bury it
    if numbered and not any(len(word) > 2 for word in question.split()):
        return numbered
    return list(dict.fromkeys([*numbered, *matching_ids(question, kinds=kinds, limit=limit)]))[:limit]


def _desk_groups(hits: Hits) -> list[Group]:
    return [
        Group(code="boat", heading=_("Boats"), answers=_boats(hits)),
        Group(code="person", heading=_("Customers"), answers=_customers(hits.get("customer", ()))),
        Group(code="here", heading=_("Work orders"), answers=_visits(hits.get("workorder", ()))),
        Group(code="pen", heading=_("Quotes"), answers=_quotes(hits.get("quote", ()))),
        Group(
            code="hold-payment",
            heading=_("Invoices and credit notes"),
            answers=_invoices(hits.get("invoice", ())),
        ),
        Group(code="tick", heading=_("Receipts"), answers=_receipts(hits.get("payment", ()))),
        Group(code="part", heading=_("Parts"), answers=_parts(hits.get("part", ()), url_name="parts:edit")),
    ]


def _own_groups(hits: Hits, *, viewer: Person) -> list[Group]:
    return [
        Group(code="here", heading=_("My work orders"), answers=_own_visits(hits, viewer=viewer)),
        Group(code="part", heading=_("Parts"), answers=_parts(hits.get("part", ()))),
    ]


def _shown[Row: (Vessel, Customer, WorkOrder, Quote, Invoice, Payment, Part)](
    rows: QuerySet[Row], pks: Sequence[int]
) -> list[Row]:
    """The rows of these keys in their order, one more than is shown; no query without a key."""
    wanted = list(pks)[: ROWS_SHOWN + 1]
    found = {row.pk: row for row in rows.filter(pk__in=wanted)} if wanted else {}
    return [found[pk] for pk in wanted if pk in found]


def _boats(hits: Hits) -> tuple[Answer, ...]:
    """Boats that fit themselves, by their owner now, or by an engine on them now. Three queries at most."""
    pks = _vessel_pks(hits)
    owner = VesselOwnership.objects.filter(vessel=OuterRef("pk"), until_date=None)
    visit = WorkOrder.objects.open().filter(vessel=OuterRef("pk")).order_by("-opened_at", "-pk")
    rows = Vessel.objects.annotate(
        owner_name=Subquery(owner.values("customer__name")[:1]),
        owner_phone=Subquery(owner.values("customer__phone")[:1]),
        visit_pk=Subquery(visit.values("pk")[:1]),
        visit_number=Subquery(visit.values("number")[:1]),
        visit_stage=Subquery(visit.values("stage")[:1]),
    )
    boats = _shown(rows, pks)
    engines: dict[int, list[MountedEngine]] = defaultdict(list)
    for engine in mounted_engines(boat.pk for boat in boats) if boats else ():
        engines[engine.vessel_pk].append(engine)
    return tuple(_boat(boat, engines=engines[boat.pk]) for boat in boats)


def _vessel_pks(hits: Hits) -> list[int]:
    # ids first: one OR over joins would make the database read every boat
    owners, engines = hits.get("customer", ()), hits.get("engine", ())
    if not owners and not engines:
        return list(hits.get("vessel", ()))
    owned = VesselOwnership.objects.filter(customer__in=owners, until_date=None).values_list(
        "vessel", flat=True
    )
    mounted = EngineMounting.objects.filter(engine__in=engines, until_date=None)
    related = owned.union(mounted.values_list("vessel", flat=True))
    return list(dict.fromkeys([*hits.get("vessel", ()), *sorted(related, reverse=True)]))


def _boat(row: Vessel, *, engines: Sequence[MountedEngine]) -> Answer:
    known = vars(row)  # the annotated values stand among the row's own
    built = [f"{engine.words} {engine.serial or engine.plate}" for engine in engines]
    return Answer(
        pk=row.pk,
        url_name="customers:vessel",
        words=boat_words(row),
        detail=" · ".join(filter(None, [known["owner_name"], known["owner_phone"], *built])),
        visit=Visited(
            pk=known["visit_pk"], number=known["visit_number"], stage=stage_chip(known["visit_stage"])
        )
        if known["visit_pk"]
        else None,
        arrival=f"vessel={row.pk}",
    )


def _customers(pks: Sequence[int]) -> tuple[Answer, ...]:
    return tuple(
        Answer(
            pk=row.pk,
            url_name="customers:detail",
            words=row.name,
            detail=" · ".join(filter(None, [row.phone, row.email])),
            arrival=f"customer={row.pk}",
        )
        for row in _shown(Customer.objects.all(), pks)
    )


def _visits(pks: Sequence[int]) -> tuple[Answer, ...]:
    rows = _shown(WorkOrder.objects.select_related("vessel", "customer"), pks)
    return tuple(_visit(row) for row in rows)


def _visit(row: WorkOrder) -> Answer:
    return Answer(
        pk=row.pk,
        url_name="work_orders:detail",
        words=row.number,
        detail=f"{boat_words(row.vessel)} · {row.customer.name}",
        stage=stage_chip(row.stage),
    )


def _own_visits(hits: Hits, *, viewer: Person) -> tuple[Answer, ...]:
    """Visits with a job of the viewer's that fit by number, boat, engine or customer; open ones first."""
    own = JobAssignment.objects.filter(person=viewer).values("job__work_order")
    orders, vessels, customers, engines = (
        list(hits.get(kind, ())) for kind in ("workorder", "vessel", "customer", "engine")
    )
    if not any((orders, vessels, customers, engines)):
        return ()
    rows = WorkOrder.objects.filter(pk__in=own).select_related("vessel", "customer")
    fits = (
        rows.filter(pk__in=orders)
        | rows.filter(vessel__in=vessels)
        | rows.filter(customer__in=customers)
        | rows.filter(pk__in=Job.objects.filter(engine__in=engines).values("work_order"))
    )
    shown = sorted(
        fits.order_by("-opened_at", "-pk")[: 4 * ROWS_SHOWN], key=lambda row: row.stage in CLOSED_STAGES
    )
    return tuple(_visit(row) for row in shown[: ROWS_SHOWN + 1])


def _quotes(pks: Sequence[int]) -> tuple[Answer, ...]:
    newest = QuoteRevision.objects.filter(quote=OuterRef("pk")).order_by("-revision").values("pk")[:1]
    rows = Quote.objects.annotate(newest_pk=Subquery(newest))
    return tuple(
        Answer(
            pk=vars(row)["newest_pk"],
            url_name="quotes:preview",
            words=row.number,
            detail=_about(row.work_order),
        )
        for row in _shown(rows.select_related("work_order__vessel", "work_order__customer"), pks)
        if vars(row)["newest_pk"]
    )


def _about(work_order: WorkOrder) -> str:
    return f"{boat_words(work_order.vessel)} · {work_order.customer.name} · {work_order.number}"


def _invoices(pks: Sequence[int]) -> tuple[Answer, ...]:
    return tuple(
        Answer(
            pk=row.pk,
            url_name="invoices:detail",
            words=row.number or "",
            detail=f"{InvoiceKind(row.kind).label} · {buyer_words(row)}",
        )
        for row in _shown(Invoice.objects.exclude(number=None).select_related("customer"), pks)
    )


def _receipts(pks: Sequence[int]) -> tuple[Answer, ...]:
    """Each leads to what was paid: the invoice, or for a deposit the visit."""
    rows = Payment.objects.exclude(number=None).select_related("invoice__customer", "work_order__customer")
    return tuple(
        Answer(
            pk=row.invoice_id or row.work_order_id or 0,
            url_name="invoices:detail" if row.invoice_id else "work_orders:detail",
            words=row.number or "",
            detail=buyer_words(row.invoice) if row.invoice else row.work_order.customer.name,  # type: ignore[union-attr]  # one of both is there: payment_for_something
        )
        for row in _shown(rows, pks)
    )


def _parts(pks: Sequence[int], *, url_name: str = "") -> tuple[Answer, ...]:
    rows = Part.objects.filter(is_active=True)
    return tuple(
        Answer(pk=row.pk, url_name=url_name, words=row.number, detail=row.description)
        for row in _shown(rows, pks)
    )

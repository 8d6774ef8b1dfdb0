"""A job at the bench: what is agreed, what is logged so far, what comes next; and its findings."""

from dataclasses import dataclass
from decimal import Decimal

from shopapp import access
from shopapp.calc.money import from_milli, quantize
from shopapp.models import (
    CLOSED_STAGES,
    Job,
    LineKind,
    Person,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Stage,
    TestKind,
    Unit,
)
from shopapp.queries.actuals import ActualBook, actual_book, with_used
from shopapp.queries.approvals import approved_option
from shopapp.queries.engines import engine_words
from shopapp.queries.jobs import (
    EngineFacts,
    PhotoCard,
    TestRow,
    engine_facts,
    may_log_on,
    photos_of,
    tests_of,
    with_hours,
)
from shopapp.queries.next_steps import Next, Offer, next_of_job
from shopapp.queries.people import Colleague, technicians
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip

LOGGED_KINDS = (LineKind.PART, LineKind.LABOUR, LineKind.FLUID)
# how many of the actual book's unit (minutes, millilitres) make one of the plan's
COUNTED = {Unit.HOUR: 60, Unit.LITRE: 1000}
MILLI = 1000
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, kw_only=True)
class PlannedLine:
    """A line the customer agreed to, and how much of it is logged; no prices."""

    pk: int
    kind: str
    description: str
    number: str
    quantity: Decimal
    unit: str
    used: Decimal
    left: Decimal
    is_used: bool


@dataclass(frozen=True, kw_only=True)
class WorkPage:
    """One job for the person who works on it; ``people`` are those whose time the desk may log."""

    pk: int
    work_order_pk: int
    number: str
    position: int
    stage: StageChip
    boat: str
    kept_on: str
    engine: EngineFacts | None
    complaint: str
    cause: str
    correction: str
    test_word: str
    agreed: str
    planned: tuple[PlannedLine, ...]
    actuals: ActualBook
    photos: tuple[PhotoCard, ...]
    tests: tuple[TestRow, ...]
    people: tuple[Colleague, ...]
    next: Next
    is_desk: bool
    is_open: bool
    is_ahead: bool
    is_in_hand: bool
    is_in_test: bool
    may_log: bool


@dataclass(frozen=True, kw_only=True)
class FindingsPage:
    """A job whose findings are written; ``conflict`` when somebody else saved meanwhile.

    ``quote`` names the quote with which the customer has complaint and cause (empty: none), ``quote_pk``
    is its revision for those who may take it back.
    """

    pk: int
    work_order_pk: int
    number: str
    position: int
    boat: str
    engine: str
    quote: str
    quote_pk: int | None
    conflict: Conflict | None


def work_page(job: Job, *, viewer: Person) -> WorkPage:
    """The page of a job; seven queries, one more for the desk, one less when nothing is agreed."""
    row = with_hours(Job.objects.filter(pk=job.pk)).select_related("work_order__vessel", "engine").get()
    option = approved_option(row)
    is_desk = access.may_use_desk(viewer)
    return WorkPage(
        pk=row.pk,
        work_order_pk=row.work_order_id,
        number=row.work_order.number,
        position=row.position,
        stage=stage_chip(row.stage),
        boat=boat_words(row.work_order.vessel),
        kept_on=row.work_order.vessel.kept_on,
        engine=engine_facts(row),
        complaint=row.complaint,
        cause=row.cause,
        correction=row.correction,
        test_word=str(TestKind(row.test_kind).label),
        agreed=option.title if option is not None else "",
        planned=_planned(option),
        actuals=actual_book([row], viewer=viewer),
        photos=tuple(photos_of([row])[row.pk]),
        tests=tuple(tests_of([row])[row.pk]),
        people=technicians() if is_desk else (),
        next=next_of_job(row, viewer=viewer, offer=Offer()),
        is_desk=is_desk,
        is_open=row.stage not in CLOSED_STAGES,
        is_ahead=row.stage in (Stage.BOOKED, Stage.HERE),
        is_in_hand=row.stage == Stage.IN_HAND,
        is_in_test=row.stage == Stage.TEST,
        may_log=may_log_on(row),
    )


def _planned(option: QuoteOption | None) -> tuple[PlannedLine, ...]:
    if option is None:
        return ()
    lines = option.lines.filter(kind__in=LOGGED_KINDS).order_by("position").defer("unit_cost_e4")
    return tuple(_planned_line(line) for line in with_used(lines))


def _planned_line(line: QuoteLine) -> PlannedLine:
    counted: int = line.used  # type: ignore[attr-defined]  # annotated by with_used
    units = MILLI if line.kind == LineKind.PART else COUNTED.get(Unit(line.unit), 1)
    used = quantize(Decimal(counted) / units, exponent=HUNDREDTH, mode="half_up")
    planned = from_milli(line.quantity_milli)
    return PlannedLine(
        pk=line.pk,
        kind=line.kind,
        description=line.description,
        number=line.number,
        quantity=planned,
        unit=str(Unit(line.unit).label),
        used=used,
        left=max(planned - used, Decimal(0)),
        is_used=used >= planned,
    )


def findings_page(
    job: Job, *, viewer: Person, asking: QuoteRevision | None, conflict: Conflict | None = None
) -> FindingsPage:
    """The page of a job fetched by ``find_job``; ``asking`` comes from ``asking_revision``. No query."""
    return FindingsPage(
        pk=job.pk,
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        position=job.position,
        boat=boat_words(job.work_order.vessel),
        engine=engine_words(job.engine) if job.engine is not None else "",
        quote=asking.quote.number if asking is not None else "",
        quote_pk=asking.pk if asking is not None and access.may_price(viewer) else None,
        conflict=conflict,
    )

"""A job at the bench: what is agreed, what is logged so far, what comes next; and its findings."""

from dataclasses import dataclass

from django.db.models import QuerySet

from shopapp import access
from shopapp.models import CLOSED_STAGES, Job, Person, QuoteRevision, Stage, TestKind
from shopapp.queries.actuals import ActualBook, ActualRow, actual_book
from shopapp.queries.engines import engine_words
from shopapp.queries.fluid_changes import FluidChange, fluid_changes
from shopapp.queries.job_rules import is_work
from shopapp.queries.jobs import (
    EngineFacts,
    PhotoCard,
    TestRow,
    engine_facts,
    may_charge_on,
    may_log_on,
    photos_of,
    tests_of,
    with_hours,
)
from shopapp.queries.lay_ups import may_lay_up
from shopapp.queries.log_offers import LogOffers, log_offers
from shopapp.queries.next_steps import Next, Offer, next_of_job
from shopapp.queries.open_points import PlannedLine, planned_of
from shopapp.queries.over_agreed import Beyond, beyond_of, options_of, over_agreed
from shopapp.queries.people import Colleague, technicians
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip


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
    may_lay_up: bool
    complaint: str
    cause: str
    correction: str
    test_word: str
    agreed: str
    planned: tuple[PlannedLine, ...]
    not_logged: tuple[PlannedLine, ...]
    actuals: ActualBook
    fluids: tuple[FluidChange, ...]
    offers: LogOffers
    loose: tuple[ActualRow, ...]
    is_beyond: bool
    beyond: Beyond | None
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
    may_charge: bool


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


def work_jobs() -> QuerySet[Job]:
    """Jobs as ``work_page`` wants them: with the hours of their engines."""
    return with_hours(Job.objects.all())


def work_page(row: Job, *, viewer: Person, locale: str) -> WorkPage:
    """The page of one of ``work_jobs``: twelve queries, one more at the desk, two less without a plan."""
    options = options_of(row.work_order)
    chosen = options.get(row.pk, ())
    planned = planned_of(chosen, job_pk=row.pk)
    over = over_agreed(row.work_order, options=options)
    is_desk = access.may_use_desk(viewer)
    book = actual_book([row], viewer=viewer, held={one.key: one.why for one in over.held})
    offers = log_offers(row, viewer=viewer, locale=locale)
    return WorkPage(
        pk=row.pk,
        work_order_pk=row.work_order_id,
        number=row.work_order.number,
        position=row.position,
        stage=stage_chip(row.stage),
        boat=boat_words(row.work_order.vessel),
        kept_on=row.work_order.vessel.kept_on,
        engine=engine_facts(row),
        may_lay_up=may_lay_up(row),
        complaint=row.complaint,
        cause=row.cause,
        correction=row.correction,
        test_word=str(TestKind(row.test_kind).label),
        agreed=", ".join(option.title for option in chosen),
        planned=planned,
        not_logged=tuple(line for line in planned if not line.is_used),
        actuals=book,
        fluids=fluid_changes(book, capacities=offers.capacities, locale=locale),
        offers=offers,
        loose=tuple(one for one in book.rows if one.plan_line is None and not one.is_struck),
        is_beyond=over.is_over,
        beyond=beyond_of(over) if is_desk else None,
        photos=tuple(photos_of([row])[row.pk]),
        tests=tuple(tests_of([row])[row.pk]),
        people=technicians() if is_desk else (),
        next=next_of_job(row, viewer=viewer, offer=Offer(is_agreed=any(is_work(one) for one in chosen))),
        is_desk=is_desk,
        is_open=row.stage not in CLOSED_STAGES,
        is_ahead=row.stage in (Stage.BOOKED, Stage.HERE),
        is_in_hand=row.stage == Stage.IN_HAND,
        is_in_test=row.stage == Stage.TEST,
        may_log=may_log_on(row),
        may_charge=may_charge_on(row),
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

"""The story of a visit on one page: its path, its jobs, what was agreed, what happened, who did what."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.money import from_minor
from shopapp.models import (
    DECLINED_OUTCOMES,
    Fuel,
    Invoice,
    Job,
    Outcome,
    Person,
    Stage,
    TestKind,
    Thing,
    ToldHow,
    WorkOrder,
)
from shopapp.queries.actuals import ActualBook, actual_book
from shopapp.queries.answers import Agreed, QuoteRow, Quotes, quote_row, quotes_of, with_asking
from shopapp.queries.feed import FeedRow, feed_of
from shopapp.queries.fluid_changes import fluid_changes
from shopapp.queries.invoices import InvoiceState, balance_of, state_of, with_paid, with_unbilled
from shopapp.queries.jobs import Beside, JobCard, job_cards, with_hours
from shopapp.queries.next_steps import Bill, Next, next_of_visit
from shopapp.queries.reading_rows import with_readings
from shopapp.queries.steps import with_steps
from shopapp.queries.three_books import books_of, with_billed
from shopapp.queries.vessels import boat_words
from shopapp.queries.visit_sides import Sides, ThingRow, sides_of
from shopapp.queries.visits import StageChip, stage_chip
from shopapp.queries.ways_home import UNTOUCHED


@dataclass(frozen=True, kw_only=True)
class PathStep:
    """One stage on the course: done, now, ahead or skip."""

    code: str
    word: str
    state: str


@dataclass(frozen=True, kw_only=True)
class WhereRow:
    """Where the boat, or a thing that came with it, is: said once. ``is_here`` None: nobody wrote it down."""

    word: str
    what: str
    is_here: bool | None
    place: str = ""
    who: str = ""
    since: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class InvoiceLink:
    """An invoice of the visit: number (empty while a draft), total and what is still owed."""

    pk: int
    number: str
    state: InvoiceState
    total: Decimal
    owed: Decimal | None


@dataclass(frozen=True, kw_only=True)
class DeskPart:
    """What only the desk sees of a visit."""

    phone: str
    email: str
    customer_pk: int
    quotes: tuple[QuoteRow, ...]
    may_quote: bool
    invoices: tuple[InvoiceLink, ...]
    may_bill: bool
    next: Next
    may_release: bool
    may_call_off: bool


@dataclass(frozen=True, kw_only=True)
class WorkOrderPage:
    """The whole story. Money is absent where the viewer may not see it; ``desk`` is None for a technician."""

    pk: int
    number: str
    stage: StageChip
    path: tuple[PathStep, ...]
    is_ready: bool
    is_open: bool
    boat: str
    kept_on: str
    vessel_pk: int
    customer: str
    complaint: str
    arrival_state: str
    opened_at: datetime
    promised_date: date | None
    told_at: datetime | None
    told_how: str
    gone_at: datetime | None
    gone_to: str
    where: tuple[WhereRow, ...]
    fuel: str
    purchase_order: str
    cancelled_reason: str
    release: str
    sides: Sides
    jobs: tuple[JobCard, ...]
    agreed: tuple[Agreed, ...]
    actuals: ActualBook
    feed: tuple[FeedRow, ...]
    desk: DeskPart | None


def work_order_page(
    work_order: WorkOrder, *, viewer: Person, today: date, currency: str, locale: str
) -> WorkOrderPage:
    """Everything about a visit that was fetched with its ``vessel`` and ``customer``.

    ``today`` is the shop's day. Nine queries for a technician, eleven for the desk, however many jobs, rows
    and photos there are.
    """
    is_desk = access.may_use_desk(viewer)
    rows = with_steps(with_readings(with_hours(Job.objects.filter(work_order=work_order)))).order_by(
        "position"
    )
    # amounts are not even read for somebody who may not see them
    jobs = list(with_unbilled(with_asking(with_billed(rows))) if is_desk else rows)
    quotes, book = quotes_of(work_order), actual_book(jobs, viewer=viewer)
    sides = sides_of(work_order, jobs=jobs, viewer=viewer, today=today, currency=currency)
    in_force = quotes.in_force
    beside = Beside(
        offers=quotes.offers(jobs) if is_desk else {},
        covered=quotes.covered,
        technicians=sides.technicians,
        books=books_of(jobs, in_force=in_force, happened=book, currency=currency) if is_desk else {},
        kin=sides.kin,
        fluids=fluid_changes(book, locale=locale),
    )
    money = Money(today=today, currency=currency)
    return WorkOrderPage(
        **_facts(work_order),
        path=path_of(work_order, jobs),
        where=where_of(work_order, sides.things),
        sides=sides,
        jobs=job_cards(jobs, viewer=viewer, beside=beside),
        agreed=quotes.answers(currency=currency if is_desk else None),
        actuals=book,
        feed=feed_of(work_order),
        desk=_desk_part(work_order, quotes, jobs=jobs, viewer=viewer, money=money) if is_desk else None,
    )


@dataclass(frozen=True, kw_only=True)
class Money:
    """The day and the currency by which a bill is judged and written."""

    today: date
    currency: str


def _facts(work_order: WorkOrder) -> dict[str, Any]:
    return {
        "pk": work_order.pk,
        "number": work_order.number,
        "stage": stage_chip(work_order.stage),
        "is_ready": work_order.stage == Stage.READY,
        "is_open": work_order.stage not in (Stage.GONE, Stage.CANCELLED),
        "boat": boat_words(work_order.vessel),
        "kept_on": work_order.vessel.kept_on,
        "vessel_pk": work_order.vessel_id,
        "customer": work_order.customer.name,
        "complaint": work_order.complaint,
        "arrival_state": work_order.arrival_state,
        "opened_at": work_order.opened_at,
        "promised_date": work_order.promised_date,
        "told_at": work_order.told_at,
        "told_how": str(ToldHow(work_order.told_how).label) if work_order.told_how else "",
        "gone_at": work_order.gone_at,
        "gone_to": work_order.gone_to,
        "fuel": str(Fuel(work_order.fuel).label) if work_order.fuel else "",
        "purchase_order": work_order.purchase_order,
        "cancelled_reason": work_order.cancelled_reason,
        "release": work_order.release_reason,
    }


def where_of(work_order: WorkOrder, things: Sequence[ThingRow]) -> tuple[WhereRow, ...]:
    """The boat, then what came with it, each with what was written at arrival. No query."""
    latest = {one.thing: one for one in things}
    seen = (
        (Thing.KEYS, _("tag %(tag)s") % {"tag": work_order.keys_tag} if work_order.keys_tag else ""),
        (Thing.TRAILER, work_order.trailer),
        (Thing.GEAR, work_order.loose_gear),
    )
    others = (_thing(thing, latest.get(thing), what=what) for thing, what in seen)
    return (_boat(work_order, latest.get(Thing.BOAT)), *(one for one in others if one is not None))


def _boat(work_order: WorkOrder, entry: ThingRow | None) -> WhereRow:
    is_here = work_order.is_boat_here
    return WhereRow(
        word=_("Where it is"),
        what="",
        is_here=is_here,
        place=(work_order.place or work_order.vessel.kept_on) if is_here else "",
        who=entry.who if entry is not None and not is_here else "",
        since=entry.since if entry is not None else None,
    )


def _thing(thing: Thing, entry: ThingRow | None, *, what: str) -> WhereRow | None:
    if entry is None:
        return WhereRow(word=str(thing.label), what=what, is_here=None) if what else None
    return WhereRow(
        word=entry.word,
        what=what,
        is_here=entry.is_here,
        place=entry.place if entry.is_here else "",
        who="" if entry.is_here else entry.who,
        since=entry.since,
    )


COURSE = (
    Stage.HERE,
    Stage.DIAGNOSIS,
    Stage.WITH_CUSTOMER,
    Stage.IN_LINE,
    Stage.IN_HAND,
    Stage.TEST,
    Stage.READY,
    Stage.GONE,
)
QUOTABLE = (Stage.HERE, Stage.DIAGNOSIS)
WORK = (Stage.IN_LINE, Stage.IN_HAND, Stage.TEST)


def path_of(work_order: WorkOrder, jobs: Sequence[Job]) -> tuple[PathStep, ...]:
    """The course of a visit. Stages behind it that no job went through are skipped. No query."""
    course = (Stage.BOOKED, *COURSE) if work_order.stage == Stage.BOOKED else COURSE
    skipped = _skipped(work_order, jobs)
    here = course.index(Stage(work_order.stage)) if work_order.stage in course else len(course)
    is_called_off = work_order.stage == Stage.CANCELLED
    return tuple(
        PathStep(
            **vars(stage_chip(stage)),
            state="skip" if is_called_off or stage in skipped else _state(place, here=here),
        )
        for place, stage in enumerate(course)
    )


def _state(place: int, *, here: int) -> str:
    if place == here:
        return "now"
    return "done" if place < here else "ahead"


def _skipped(work_order: WorkOrder, jobs: Sequence[Job]) -> tuple[Stage, ...]:
    if work_order.stage not in (Stage.READY, Stage.GONE):
        return ()
    done = [job for job in jobs if job.outcome == Outcome.DONE]
    if not done:
        return WORK
    return () if any(job.test_kind != TestKind.NONE for job in done) else (Stage.TEST,)


def _desk_part(
    work_order: WorkOrder, quotes: Quotes, *, jobs: Sequence[Job], viewer: Person, money: Money
) -> DeskPart:
    """One query: invoices with what was paid."""
    invoices = list(with_paid().filter(work_order=work_order).order_by("pk"))
    bill = _bill(invoices, is_needed=_is_bill_needed(quotes, jobs=jobs))
    is_told = work_order.stage == Stage.READY and work_order.told_at is not None
    return DeskPart(
        phone=work_order.customer.phone,
        email=work_order.customer.email,
        customer_pk=work_order.customer_id,
        quotes=tuple(quote_row(one) for one in quotes.revisions),
        may_quote=not quotes.is_being_written and any(job.stage in QUOTABLE for job in jobs),
        invoices=tuple(_invoice_link(one, today=money.today, currency=money.currency) for one in invoices),
        may_bill=bill.is_needed and bill.draft is None,
        next=next_of_visit(
            work_order, bill=bill, is_all_declined=all(job.outcome in DECLINED_OUTCOMES for job in jobs)
        ),
        may_release=access.may_see_costs(viewer) and is_told and bill.unpaid is not None,
        may_call_off=not invoices and not quotes.choices and all(job.stage in UNTOUCHED for job in jobs),
    )


def _is_bill_needed(quotes: Quotes, *, jobs: Sequence[Job]) -> bool:
    """Agreed lines, or logged rows of jobs that have ended, wait for a bill. No query."""
    ended = [job for job in jobs if job.outcome != Outcome.OPEN]
    return quotes.is_anything_billable or any(job.is_unbilled for job in ended)  # type: ignore[attr-defined]  # annotated


def _bill(invoices: Sequence[Invoice], *, is_needed: bool) -> Bill:
    issued = [one for one in invoices if one.issued_at is not None]
    return Bill(
        draft=next((one.pk for one in invoices if one.issued_at is None), None),
        unpaid=next((one.pk for one in issued if balance_of(one) > 0), None),
        is_needed=is_needed,
    )


def _paid(invoice: Invoice) -> int:
    return invoice.paid  # type: ignore[attr-defined,no-any-return]  # annotated by with_paid


def _invoice_link(one: Invoice, *, today: date, currency: str) -> InvoiceLink:
    owed = balance_of(one)
    return InvoiceLink(
        pk=one.pk,
        number=one.number or "",
        state=state_of(one, paid=_paid(one), today=today),
        total=from_minor(one.total_minor, currency=currency),
        owed=None if one.issued_at is None else from_minor(owed, currency=currency),
    )

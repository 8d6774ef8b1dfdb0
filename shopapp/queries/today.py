"""Today: what the desk must know in the morning, on one page."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.db.models import Count, F, QuerySet, Sum

from shopapp import access
from shopapp.models import Invoice, InvoiceKind, Person, Question, SubletEntry, TimeEntry
from shopapp.queries.actuals import in_words
from shopapp.queries.backups import backup_warnings
from shopapp.queries.calls import Slip, as_slips, waiting_slips
from shopapp.queries.first_day import FirstStep, first_steps
from shopapp.queries.invoices import InvoiceState, buyer_words, state_of, with_paid
from shopapp.queries.misses import Guesser, guessers
from shopapp.queries.parked import Parked, parked_of
from shopapp.queries.shop_texts import ShopTexts
from shopapp.queries.today_visits import Visits, WantedVisits, open_visits
from shopapp.queries.vessels import boat_words

ROWS_SHOWN = 20
ENTRIES_READ = 500


@dataclass(frozen=True, kw_only=True)
class OwedRow:
    """An invoice on which money is owed."""

    pk: int
    number: str
    customer: str
    boat: str
    due: str
    owed: str
    state: InvoiceState


@dataclass(frozen=True, kw_only=True)
class AskedRow:
    """A question of a customer that nobody has answered."""

    revision_pk: int
    quote: str
    boat: str
    customer: str
    text: str
    asked_at: datetime


@dataclass(frozen=True, kw_only=True)
class SubletRow:
    """Work at another shop that is not back yet."""

    work_order_pk: int
    work_order: str
    boat: str
    supplier: str
    description: str
    due_back_date: date | None
    is_due: bool


@dataclass(frozen=True, kw_only=True)
class WorkedOn:
    """A visit somebody logged time on today."""

    pk: int
    number: str
    boat: str
    time: str


@dataclass(frozen=True, kw_only=True)
class Worked:
    """Somebody who logged time today, with all of it."""

    name: str
    time: str
    visits: tuple[WorkedOn, ...]


@dataclass(frozen=True, kw_only=True)
class TodayPage:
    """The start page of the desk; ``owed_count`` and the like may be more than is shown."""

    today: date
    parked: tuple[Parked, ...]
    visits: Visits
    slips: tuple[Slip, ...]
    slip_count: int
    owed: tuple[OwedRow, ...]
    owed_count: int
    owed_altogether: str
    asked: tuple[AskedRow, ...]
    sublets: tuple[SubletRow, ...]
    worked: tuple[Worked, ...]
    guessers: tuple[Guesser, ...]
    machine: tuple[str, ...]
    first_steps: tuple[FirstStep, ...]


def today_page(wanted: WantedVisits, *, viewer: Person, now: datetime, texts: ShopTexts) -> TodayPage:
    """All for the desk in ten queries, for the owner in twelve. Raises BadInput for a filter there is not."""
    zone = ZoneInfo(texts.time_zone)
    today = now.astimezone(zone).date()
    visits = open_visits(wanted, now=now, zone=zone)
    slips = as_slips(waiting_slips(), now=now)
    owing = _owing().aggregate(altogether=Sum("owed"), count=Count("pk"))
    return TodayPage(
        today=today,
        parked=parked_of(viewer.pk),
        visits=visits,
        slips=slips[:ROWS_SHOWN],
        slip_count=len(slips),
        owed=tuple(_owed_row(row, today=today, texts=texts) for row in _oldest_owed()),
        owed_count=owing["count"] or 0,
        owed_altogether=texts.money(owing["altogether"] or 0),
        asked=_asked(),
        sublets=_sublets(today),
        worked=_worked(datetime.combine(today, time.min, tzinfo=zone)),
        guessers=guessers(at=now) if access.may_watch_doors(viewer) else (),
        machine=backup_warnings(now=now) if access.may_watch_machine(viewer) else (),
        first_steps=first_steps(open_visits=visits.count) if access.may_set_terms(viewer) else (),
    )


def _owing() -> "QuerySet[Invoice]":
    bills = with_paid().filter(issued_at__isnull=False, kind=InvoiceKind.INVOICE)
    return bills.annotate(owed=F("total_minor") - F("paid") - F("credited")).filter(owed__gt=0)


def _oldest_owed() -> Iterable[Invoice]:
    rows = _owing().select_related("customer", "work_order__vessel")
    return rows.order_by(F("due_date").asc(nulls_last=True), "pk")[:ROWS_SHOWN]


def _owed_row(row: Invoice, *, today: date, texts: ShopTexts) -> OwedRow:
    known = vars(row)  # the annotated values stand among the row's own
    return OwedRow(
        pk=row.pk,
        number=row.number or "",
        customer=buyer_words(row),
        boat=boat_words(row.work_order.vessel) if row.work_order is not None else "",
        due=texts.day(row.due_date),
        owed=texts.money(known["owed"]),
        state=state_of(row, paid=known["paid"], today=today),
    )


def _asked() -> tuple[AskedRow, ...]:
    rows = Question.objects.filter(answered_at=None).select_related(
        "revision__quote__work_order__vessel", "revision__quote__work_order__customer"
    )
    return tuple(
        AskedRow(
            revision_pk=row.revision_id,
            quote=row.revision.quote.number,
            boat=boat_words(row.revision.quote.work_order.vessel),
            customer=row.revision.quote.work_order.customer.name,
            text=row.text,
            asked_at=row.asked_at,
        )
        for row in rows.order_by("asked_at", "pk")[:ROWS_SHOWN]
    )


def _sublets(today: date) -> tuple[SubletRow, ...]:
    rows = SubletEntry.objects.filter(back_at=None, struck_at=None).select_related("job__work_order__vessel")
    return tuple(
        SubletRow(
            work_order_pk=row.job.work_order_id,
            work_order=row.job.work_order.number,
            boat=boat_words(row.job.work_order.vessel),
            supplier=row.supplier,
            description=row.description,
            due_back_date=row.due_back_date,
            is_due=row.due_back_date is not None and row.due_back_date <= today,
        )
        for row in rows.order_by(F("due_back_date").asc(nulls_last=True), "pk")[:ROWS_SHOWN]
    )


def _worked(since: datetime) -> tuple[Worked, ...]:
    rows = TimeEntry.objects.filter(happened_at__gte=since, struck_at=None)
    entries = rows.select_related("person", "job__work_order__vessel").order_by(
        "person__name", "person", "pk"
    )
    minutes: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    names, visits = {}, {}
    for row in entries[:ENTRIES_READ]:
        visit = row.job.work_order
        minutes[row.person_id][visit.pk] += row.minutes
        names[row.person_id], visits[visit.pk] = row.person.name, visit
    return tuple(
        Worked(
            name=names[person],
            time=in_words(sum(spent.values())),
            visits=tuple(
                WorkedOn(
                    pk=pk, number=visits[pk].number, boat=boat_words(visits[pk].vessel), time=in_words(count)
                )
                for pk, count in spent.items()
            ),
        )
        for person, spent in minutes.items()
    )

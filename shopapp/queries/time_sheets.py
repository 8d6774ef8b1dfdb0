"""Time sheets: who was on what on a day of the shop, who is on what now, and which clocks were forgotten."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import F, Q, QuerySet

from shopapp.calc.clocking import LONGEST_STRETCH, is_forgotten, whole_minutes
from shopapp.models import CLOCKED, ClockSpan
from shopapp.queries.actuals import in_words
from shopapp.queries.vessels import boat_words

KIND_WORDS = dict(CLOCKED)
FORGOTTEN_READ, SPANS_SHOWN = 200, 500


@dataclass(frozen=True, kw_only=True)
class SpanRow:
    """One stretch ready to show; without an end it runs, ``is_forgotten`` needs the desk."""

    pk: int
    person: str
    kind: str
    work_order_pk: int | None
    work_order: str
    on_at: datetime | None
    stopped_at: datetime | None
    time: str
    is_running: bool
    is_forgotten: bool
    corrected_by: str
    corrected_reason: str


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A person's day: their stretches in order, and what they come to on jobs and besides."""

    person: str
    spans: tuple[SpanRow, ...]
    on_jobs: str
    besides: str


@dataclass(frozen=True, kw_only=True)
class TimeSheetsPage:
    """A day, the sheets of all who clocked on, and the clocks that need the desk, of whatever day."""

    day: date
    before: date
    after: date
    today: date
    sheets: tuple[Sheet, ...]
    forgotten: tuple[SpanRow, ...]


def time_sheets_page(day: date, *, now: datetime, zone: ZoneInfo) -> TimeSheetsPage:
    """Two queries. A stretch stands on the day on which it began."""
    rows = _on(day, zone=zone)
    people: dict[int, list[ClockSpan]] = {}
    for row in rows:
        people.setdefault(row.person_id, []).append(row)
    one = timedelta(days=1)
    return TimeSheetsPage(
        day=day,
        before=day - one,
        after=day + one,
        today=now.astimezone(zone).date(),
        sheets=tuple(_sheet(spans, now=now, zone=zone) for spans in people.values()),
        forgotten=tuple(
            row for row in (_row(span, now=now, zone=zone) for span in _unsettled()) if row.is_forgotten
        ),
    )


def span_row(span: ClockSpan, *, now: datetime, zone: ZoneInfo) -> SpanRow:
    """One stretch by itself, for its own page."""
    return _row(span, now=now, zone=zone)


def named_spans() -> QuerySet[ClockSpan]:
    """Stretches with everything that a row shows."""
    return ClockSpan.objects.select_related("person", "job__work_order__vessel", "corrected_by")


def _on(day: date, *, zone: ZoneInfo) -> Iterable[ClockSpan]:
    begins, ends = (datetime.combine(one, time.min, tzinfo=zone) for one in (day, day + timedelta(days=1)))
    rows = named_spans().filter(on_at__gte=begins, on_at__lt=ends)
    return rows.order_by("person__name", "person", "on_at", "mark")[:SPANS_SHOWN]


def _unsettled() -> Iterable[ClockSpan]:
    """What runs, and what ended without hours of a job or after very long: the forgotten are among them."""
    is_open = Q(stopped_at=None) | Q(job__isnull=False, time_entry=None)
    is_long = Q(stopped_at__gt=F("on_at") + LONGEST_STRETCH)
    rows = named_spans().filter(is_open | is_long, corrected_at=None, on_at__isnull=False)
    return rows.order_by("-on_at")[:FORGOTTEN_READ]


def _sheet(spans: list[ClockSpan], *, now: datetime, zone: ZoneInfo) -> Sheet:
    rows = tuple(_row(span, now=now, zone=zone) for span in spans)
    return Sheet(
        person=spans[0].person.name,
        spans=rows,
        on_jobs=in_words(sum(_minutes(one, now=now, zone=zone) for one in spans if one.job_id is not None)),
        besides=in_words(sum(_minutes(one, now=now, zone=zone) for one in spans if one.job_id is None)),
    )


def _minutes(span: ClockSpan, *, now: datetime, zone: ZoneInfo) -> int:
    """So far, for what runs; nothing of a forgotten one."""
    if span.on_at is None or _is_forgotten(span, now=now, zone=zone):
        return 0
    return max(whole_minutes(span.on_at, until=span.stopped_at or now), 0)


def _is_forgotten(span: ClockSpan, *, now: datetime, zone: ZoneInfo) -> bool:
    if span.on_at is None or span.corrected_at is not None:
        return False
    return is_forgotten(span.on_at, until=span.stopped_at or now, zone=zone)


def _row(span: ClockSpan, *, now: datetime, zone: ZoneInfo) -> SpanRow:
    visit = span.job.work_order if span.job is not None else None
    return SpanRow(
        pk=span.pk,
        person=span.person.name,
        kind=str(KIND_WORDS.get(span.kind, span.kind)),
        work_order_pk=visit.pk if visit is not None else None,
        work_order=f"{visit.number} {boat_words(visit.vessel)}" if visit is not None else "",
        on_at=span.on_at,
        stopped_at=span.stopped_at,
        time=in_words(_minutes(span, now=now, zone=zone)),
        is_running=span.stopped_at is None,
        is_forgotten=_is_forgotten(span, now=now, zone=zone),
        corrected_by=span.corrected_by.name if span.corrected_by is not None else "",
        corrected_reason=span.corrected_reason,
    )

"""The clock of a person: on, off, over to something else, put right by hand; an end follows from all words.

Locks in order: the person, the work orders that change (by their ids), then as ``log_time``, the chain head.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.actual_book import loggable
from shopapp.actions.actuals import MINUTES_A_DAY, LogTimeInput, log_time
from shopapp.actions.corrections import withdraw_row
from shopapp.actions.jobs import person_of
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.clocking import Stretch, end_of, is_forgotten, whole_minutes
from shopapp.calc.errors import BadInput
from shopapp.models import ClockSpan, Job, LineKind, Person, QuoteLine, ShopTime, TimeKind, WorkOrder
from shopapp.queries.approvals import approved_options
from shopapp.queries.shop import the_shop

LONGEST_REASON = 200


@dataclass(frozen=True, kw_only=True)
class ClockOnInput:
    """Somebody begins: under a mark of the tablet's, on a job's work or on time that is nobody's job."""

    mark: UUID
    kind: TimeKind | ShopTime
    line: int | None = None


@dataclass(frozen=True, kw_only=True)
class ClockOffInput:
    """Somebody ends what they began under this mark."""

    mark: UUID


@dataclass(frozen=True, kw_only=True)
class CorrectInput:
    """When a forgotten clock really ended, and how that is known."""

    off_at: datetime
    reason: str


@transaction.atomic
def clock_on(job_pk: int | None, data: ClockOnInput, *, by: Actor) -> ClockSpan:
    """Begin a stretch at the actor's time; whatever else the person was on ends with it.

    A stretch that began later is left alone, and ends this one. A second sender of the same mark gets the
    first row. If the power fails, the stretch, the hours it ends and their record are there or nothing is.
    Raises Refused where hours can't be logged, or where it would change hours that are billed.
    """
    span = _span_under(data.mark, by=by)
    if span.on_at is not None:
        return span
    if isinstance(data.kind, ShopTime) is (job_pk is not None):
        accepted = _("work of a job for a job, and time of the shop without one")
        raise BadInput("work", data.kind.label, accepted)
    span.on_at, span.kind, span.job_id = by.at, data.kind, job_pk
    span.plan_line = QuoteLine.objects.filter(pk=data.line or 0, kind=LineKind.LABOUR).first()
    before = _before(span)
    _lock_visits(span, before)
    if job_pk is not None:
        loggable(job_pk, by=by)
    span.save()
    activity.record([Entry(verb="clock on", record=span, work_order=_visit(span))], by=by)
    for one in filter(None, (before, span)):
        _end(one, by=by)
    return span


@transaction.atomic
def clock_off(data: ClockOffInput, *, by: Actor) -> ClockSpan:
    """End a stretch at the actor's time, if nothing else has ended it before.

    It may come before its beginning does, and waits for it. Locks, power cut and refusals as ``clock_on``; a
    second sender gets the row as it is.
    """
    span = _span_under(data.mark, by=by)
    if span.off_at is not None:
        return span
    span.off_at = by.at
    _lock_visits(span)
    span.save()
    activity.record([Entry(verb="clock off", record=span, work_order=_visit(span))], by=by)
    _end(span, by=by)
    return span


@transaction.atomic
def correct_span(pk: int, data: CorrectInput, *, by: Actor) -> ClockSpan:
    """Say when a stretch really ended, with the reason; its hours are logged then, up to a whole day.

    For the desk. Locks as ``clock_on``; a second sender is refused once it is corrected. If the power fails,
    all of it or nothing. Raises BadInput for a moment that can't be its end.
    """
    desk = desk_person(by)
    person = Person.objects.get(clock_spans=pk)
    locked(Person.objects.filter(pk=person.pk)).get()
    span = ClockSpan.objects.select_related("job__work_order").get(pk=pk)
    if span.corrected_at is not None:
        raise Refused(_("This clock was put right a moment ago."))
    _check(span, data, by=by)
    _lock_visits(span)
    span.off_at, span.corrected_by, span.corrected_at = data.off_at, desk, by.at
    span.corrected_reason = data.reason.strip()
    span.save()
    activity.record([Entry(verb="correct clock", record=span, work_order=_visit(span))], by=by)
    _end(span, by=by)
    return span


def _check(span: ClockSpan, data: CorrectInput, *, by: Actor) -> None:
    if span.on_at is None:
        raise Refused(_("It is not known yet when this clock began; the tablet still has to send it."))
    after = _after(span)
    latest = by.at if after is None or after.on_at is None else min(by.at, after.on_at)
    minutes = whole_minutes(span.on_at, until=data.off_at)
    if not span.on_at < data.off_at <= latest or minutes > MINUTES_A_DAY:
        raise BadInput(
            "off_at",
            data.off_at,
            _("a moment after the clock began, within a day, and before the person began something else"),
        )
    if not data.reason.strip() or len(data.reason) > LONGEST_REASON:
        raise BadInput("reason", data.reason, _("how it is known, in at most 200 characters"))


def _span_under(mark: UUID, *, by: Actor) -> ClockSpan:
    """The stretch of this mark, or a new one; the person is locked, so that words follow each other."""
    person = locked(Person.objects.filter(pk=person_of(by).pk)).get()
    known = ClockSpan.objects.filter(mark=mark, person=person).first()
    return known or ClockSpan(mark=mark, person=person)


def _lock_visits(*spans: ClockSpan | None) -> None:
    """The work orders of these stretches, in one order, so that two people never wait for each other."""
    jobs = {span.job_id for span in spans if span is not None and span.job_id is not None}
    for work_order_pk in sorted(set(Job.objects.filter(pk__in=jobs).values_list("work_order_id", flat=True))):
        lock_work_order(work_order_pk)


def _before(span: ClockSpan) -> ClockSpan | None:
    """What the person was on before it began."""
    began = Q(on_at__lt=span.on_at) | Q(on_at=span.on_at, mark__lt=span.mark)
    rows = ClockSpan.objects.filter(began, person=span.person_id)
    return rows.order_by("on_at", "mark").last()


def _after(span: ClockSpan) -> ClockSpan | None:
    """What the person began next."""
    begins = Q(on_at__gt=span.on_at) | Q(on_at=span.on_at, mark__gt=span.mark)
    rows = ClockSpan.objects.filter(begins, person=span.person_id)
    return rows.order_by("on_at", "mark").first()


def _end(span: ClockSpan, *, by: Actor) -> None:
    """Write the end that follows from what is known, and the hours of the job with it."""
    if span.on_at is None:
        return
    after = _after(span)
    stretch = Stretch(mark=span.mark, on_at=span.on_at, off_at=span.off_at)
    stopped_at = end_of(stretch, next_on=after.on_at if after is not None else None)
    if stopped_at == span.stopped_at and span.corrected_at is None:
        return
    span.stopped_at = stopped_at
    _write_hours(span, by=by)
    span.save()


def _write_hours(span: ClockSpan, *, by: Actor) -> None:
    """The hours of a job as the stretch has them now; a row that says otherwise is struck out."""
    minutes = _minutes_of(span)
    if span.time_entry is not None and span.time_entry.struck_at is None:
        if span.time_entry.minutes == minutes:
            return
        withdraw_row(("time_entry", span.time_entry.pk), reason=_("the clock was put right"), by=by)
    span.time_entry = None
    if not minutes or span.job_id is None or span.on_at is None:
        return
    data = LogTimeInput(minutes=minutes, kind=TimeKind(span.kind), person=span.person_id, line=_agreed(span))
    started = replace(by, at=span.on_at, received_at=by.recorded_at)
    span.time_entry = log_time(span.job_id, data, by=started)


def _minutes_of(span: ClockSpan) -> int:
    """Minutes that count: none of a stretch that runs, and none of a forgotten one until it is put right."""
    if span.on_at is None or span.stopped_at is None:
        return 0
    zone = ZoneInfo(the_shop().time_zone)
    if span.corrected_at is None and is_forgotten(span.on_at, until=span.stopped_at, zone=zone):
        return 0
    return whole_minutes(span.on_at, until=span.stopped_at)


def _agreed(span: ClockSpan) -> int | None:
    """The planned hours it was for, as long as they are agreed."""
    if span.plan_line is None or span.job is None:
        return None
    options = approved_options([span.job]).get(span.job.pk, ())
    return span.plan_line.pk if span.plan_line.option_id in {one.pk for one in options} else None


def _visit(span: ClockSpan) -> WorkOrder | None:
    return span.job.work_order if span.job is not None else None

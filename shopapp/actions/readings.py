"""Readings of an engine are logged on a job; verdict and limit are frozen then, in words."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.actual_book import loggable
from shopapp.actions.jobs import lock_job, person_of
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.striking import strike
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.calc.units import Unit
from shopapp.calc.verdicts import ALONE, BY_CYLINDER, Allowed, Figure, Judged, Kind, Measured, judged
from shopapp.models import EngineFamily, Job, Reading, ReadingKind, ReadingValue, Warmth
from shopapp.models.spec_book import MOST_CYLINDERS
from shopapp.queries.limit_words import unit_word
from shopapp.queries.limits_in_force import InForce, limit_for, limits_of
from shopapp.queries.reading_words import verdict_words
from shopapp.queries.shop import the_shop

MOST_FIGURE = Decimal(1_000_000)
MOST_MINUTES = Decimal(10_000)


@dataclass(frozen=True, kw_only=True)
class FigureInput:
    """One figure, of a cylinder or alone. ``second``: see ``calc.verdicts.Measured``."""

    value: Decimal
    second: Decimal | None = None
    cylinder: int | None = None


@dataclass(frozen=True, kw_only=True)
class ReadingInput:
    """What was measured, where and how."""

    kind: ReadingKind
    figures: tuple[FigureInput, ...]
    unit: Unit | None = None
    minutes: Decimal | None = None
    point: str = ""
    warmth: Warmth | None = None
    throttle: str = ""
    remark: str = ""


@transaction.atomic
def log_reading(job_pk: int, data: ReadingInput, *, by: Actor) -> Reading:
    """Log a reading; the verdict by the limit in force stands beside it and blocks nothing.

    Locks the work order, the job, and last the chain head. The key of the form, or the mark of the tablet's
    entry, keeps a second sender from a second reading. If the power fails, all of it is there or nothing.
    Raises BadInput for figures that this kind of reading can't have.
    """
    job = loggable(job_pk, by=by)
    _require_sane(data)
    locale = the_shop().locale
    limit = _limit(job, data, locale=locale)
    found = judged(measured(data), allowed=limit.allowed if limit is not None else Allowed())
    unit = unit_word(data.kind, data.unit.value if data.unit is not None else "")
    row = Reading.objects.create(
        job=job,
        **_told(data),
        verdict=found.verdict.value,
        verdict_words=verdict_words(found, unit=unit, locale=locale),
        limit_words=limit.words if limit is not None else "",
        logged_by=person_of(by),
        happened_at=by.at,
        recorded_at=by.recorded_at,
    )
    ReadingValue.objects.bulk_create(_value(one, row, found=found) for one in data.figures)
    facts: Payload = {"job": job.position, "what": row.get_kind_display(), "verdict": row.verdict}
    activity.record([Entry(verb="log reading", record=row, facts=facts, work_order=job.work_order)], by=by)
    return row


@transaction.atomic
def strike_reading(pk: int, *, reason: str, by: Actor) -> Reading:
    """Strike out a reading that is wrong; it stays readable. People strike their own, the desk anybody's.

    Locks the work order, the job, the reading, and last the chain head. A second sender gets the struck
    reading and leaves no second trace. If the power fails, all of it or nothing.
    """
    job = lock_job(Reading.objects.values_list("job_id", flat=True).get(pk=pk), by=by)
    row, person = locked(Reading.objects.filter(pk=pk)).get(), person_of(by)
    if row.struck_at is not None:
        return row
    if row.logged_by_id != person.pk and not access.may_use_desk(person):
        raise NotAllowed(_("You can strike out what you logged yourself. Ask the desk for other rows."))
    said = strike(row, person, reason=reason, by=by)
    facts: Payload = {"job": job.position, "what": row.get_kind_display(), "why": said}
    activity.record([Entry(verb="strike reading", record=row, facts=facts, work_order=job.work_order)], by=by)
    return row


def measured(data: ReadingInput) -> Measured:
    """The reading as the calculation takes it."""
    return Measured(
        kind=Kind(data.kind),
        unit=data.unit,
        minutes=None if data.minutes is None else float(data.minutes),
        figures={
            one.cylinder or ALONE: Figure(
                value=float(one.value), second=None if one.second is None else float(one.second)
            )
            for one in data.figures
        },
    )


def _require_sane(data: ReadingInput) -> None:
    by_cylinder = Kind(data.kind) in BY_CYLINDER
    numbers = [one.cylinder for one in data.figures]
    if not numbers or len(set(numbers)) != len(numbers):
        raise BadInput("figures", len(numbers), _("one figure for each cylinder"))
    for one in data.figures:
        if by_cylinder and not 1 <= (one.cylinder or 0) <= MOST_CYLINDERS:
            accepted = _("a number from 1 to %(most)s") % {"most": MOST_CYLINDERS}
            raise BadInput("cylinder", one.cylinder, accepted)
        for value in (one.value, one.second):
            if value is not None and abs(value) > MOST_FIGURE:
                raise BadInput("value", value, _("a figure a gauge could show"))
    if data.minutes is not None and not 0 < data.minutes <= MOST_MINUTES:
        raise BadInput("minutes", data.minutes, _("a time above 0 minutes"))


def _limit(job: Job, data: ReadingInput, *, locale: str) -> InForce | None:
    """The limit in force for the job's engine; two queries at most."""
    family = EngineFamily.objects.filter(engines__jobs=job).first()
    limits = limits_of(family, locale=locale)[Kind(data.kind)]
    return limit_for(limits, point=data.point, warmth=data.warmth or "")


def _told(data: ReadingInput) -> dict[str, Any]:
    return {
        "kind": data.kind,
        "point": data.point,
        "unit": data.unit.value if data.unit is not None else "",
        "minutes_e4": None if data.minutes is None else to_e4(data.minutes, field="minutes"),
        "warmth": data.warmth or "",
        "throttle": data.throttle,
        "remark": data.remark,
    }


def _value(one: FigureInput, row: Reading, *, found: Judged) -> ReadingValue:
    return ReadingValue(
        reading=row,
        cylinder=one.cylinder,
        value_e4=to_e4(one.value, field="value"),
        second_e4=None if one.second is None else to_e4(one.second, field="value"),
        verdict=found.figures[one.cylinder or ALONE].value,
    )

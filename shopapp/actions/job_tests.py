"""The test that proves a job: passed, it is ready; failed, it goes back to the bench with the reason."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, set_outcome, stage_word
from shopapp.actions.lay_ups import require_in_service
from shopapp.actions.refusals import Refused
from shopapp.actions.stages import move_job
from shopapp.calc.errors import BadInput
from shopapp.calc.limits import Verdict
from shopapp.calc.money import format_number, to_e4
from shopapp.calc.trials import Engine, Trial, shown_by
from shopapp.calc.units import Unit, show
from shopapp.calc.verdicts import ALONE, Allowed, Figure, Kind, Measured, judged
from shopapp.models import EngineFamily, Job, JobTest, Outcome, ReadingVerdict, Stage, Warmth
from shopapp.queries.figures import OTHER
from shopapp.queries.limits_in_force import InForce, limit_for, limits_of
from shopapp.queries.shop import the_shop

VERDICTS = {
    Verdict.IN_LIMITS: gettext_lazy("in the maker's range"),
    Verdict.AT_EDGE: gettext_lazy("at the edge of the maker's range"),
    Verdict.OUT_OF_LIMITS: gettext_lazy("out of the maker's range"),
    Verdict.NO_LIMIT: gettext_lazy("no range known"),
}
MOST_DEGREES = Decimal(2_000)


@dataclass(frozen=True, kw_only=True)
class RecordTestInput:
    """How it was tested, what was read and seen, and the verdict.

    Speeds are in ``unit``, the pitch in inches, temperatures in ``temperature_unit``, measured where
    ``temperature_point`` says.
    """

    has_passed: bool
    conditions: str = ""
    remarks: str = ""
    there: Decimal | None = None
    back: Decimal | None = None
    unit: Unit = Unit.KNOT
    rpm: int | None = None
    pitch: Decimal | None = None
    idle_temperature: Decimal | None = None
    full_temperature: Decimal | None = None
    temperature_unit: Unit = Unit.CELSIUS
    temperature_point: str = ""
    load: str = ""
    warnings: str = ""
    fluid_seen: str = ""


@transaction.atomic
def record_test(job_pk: int, data: RecordTestInput, *, by: Actor) -> JobTest:
    """Write down a test of the kind the job asks for, and move the job.

    Passed: ready, with outcome done. Failed: back in hand, the remark being the reason (BadInput without
    one). What speeds, rpm and pitch come to is reckoned by the spec book as it is now and kept in words.
    Refused for what happened after the engine was fogged and laid up: it is put in service first. Locks the
    work order, the job, its engine, and last the chain head. A second sender is refused, since the job has
    left its test. If the power fails, the test, the move and their record are there together or not.
    """
    job = lock_job(job_pk, by=by)
    if job.stage != Stage.TEST:
        raise Refused(_("Only finished work is tested; this job is at “%s”.") % stage_word(job))
    require_in_service(job, at=by.at)
    if not data.has_passed and not data.remarks.strip():
        raise BadInput("remarks", data.remarks, _("what went wrong: it is the reason the job goes back"))
    has_speed = data.there is not None
    test = JobTest.objects.create(
        job=job,
        kind=job.test_kind,
        conditions=data.conditions,
        remarks=data.remarks,
        speed_there_e4=_e4(data.there, field="there"),
        speed_back_e4=_e4(data.back, field="back"),
        speed_unit=data.unit if has_speed else "",
        rpm=data.rpm,
        pitch_e4=_e4(data.pitch, field="pitch"),
        **_temperatures(data),
        load=data.load,
        warnings=data.warnings,
        fluid_seen=data.fluid_seen,
        said=trial_words(data, family=job.engine.family if job.engine is not None else None),
        has_passed=data.has_passed,
        tested_by=person_of(by),
        tested_at=by.at,
    )
    activity.record([_tested(test, job), _moved(job, data)], by=by)
    return test


def trial_words(data: RecordTestInput, *, family: EngineFamily | None) -> str:
    """What the figures of a run come to, in words; empty without figures. Raises BadInput for odd ones."""
    shown = shown_by(
        Trial(
            there=_float(data.there),
            back=_float(data.back),
            unit=data.unit,
            rpm=data.rpm or None,
            pitch=_float(data.pitch) or None,
        ),
        engine=_known(family),
    )
    locale = the_shop().locale
    told = []
    if shown.speed is not None:
        told.append(_("%s as the mean of both ways") % show(shown.speed, unit=data.unit, locale=locale))
    if shown.slip is not None:
        told.append(_("propeller slip %s %%") % format_number(Decimal(round(shown.slip)), locale=locale))
    if data.rpm:
        told.append(f"{data.rpm} rpm: {VERDICTS[shown.verdict]}")
    if shown.inches:
        told.append(_pitch_words(shown.inches))
    if shown.question:
        told.append(_("faster than its propeller can be: check rpm, pitch, gear ratio and the current"))
    told += temperature_words(data, family=family, locale=locale)
    return "; ".join(str(one) for one in told)


def temperature_words(data: RecordTestInput, *, family: EngineFamily | None, locale: str) -> list[str]:
    """Each temperature in both units with its verdict, as of a reading of a warm engine, and the limit.

    One query where a temperature was read and the engine has a family.
    """
    read = [
        (value, words)
        for value, words in (
            (data.idle_temperature, _("%(figure)s at idle: %(verdict)s")),
            (data.full_temperature, _("%(figure)s at full throttle: %(verdict)s")),
        )
        if value is not None
    ]
    if not read:
        return []
    limits = limits_of(family, locale=locale)[Kind.TEMPERATURE]
    limit = limit_for(limits, point=data.temperature_point, warmth=Warmth.WARM)
    told = [_judged(value, words, data=data, limit=limit, locale=locale) for value, words in read]
    return told if limit is None else [*told, _("limit %s") % limit.words]


def _judged(value: Decimal, words: str, *, data: RecordTestInput, limit: InForce | None, locale: str) -> str:
    unit, figures = data.temperature_unit, {ALONE: Figure(value=float(value))}
    measured = Measured(kind=Kind.TEMPERATURE, unit=unit, figures=figures)
    found = judged(measured, allowed=limit.allowed if limit is not None else Allowed())
    said = words % {
        "figure": show(value, unit=unit, other=OTHER[unit], locale=locale),
        "verdict": ReadingVerdict(found.verdict.value).label,
    }
    return f"{data.temperature_point}: {said}" if data.temperature_point else said


def _temperatures(data: RecordTestInput) -> dict[str, Any]:
    """The columns of what the engine's temperature was; no unit and no place without a figure."""
    read = {"idle_temperature": data.idle_temperature, "full_temperature": data.full_temperature}
    for name, value in read.items():
        if value is not None and not (value.is_finite() and abs(value) <= MOST_DEGREES):
            raise BadInput(name, value, _("a temperature that a gauge could show"))
    columns: dict[str, Any] = {f"{name}_e4": _e4(value, field=name) for name, value in read.items()}
    if any(value is not None for value in read.values()):
        columns |= {"temperature_unit": data.temperature_unit, "temperature_point": data.temperature_point}
    return columns


def _pitch_words(inches: int) -> str:
    count = abs(inches)
    if inches > 0:
        said = ngettext("about %s inch more pitch would help", "about %s inches more pitch would help", count)
    else:
        said = ngettext("about %s inch less pitch would help", "about %s inches less pitch would help", count)
    return said % count


def _known(family: EngineFamily | None) -> Engine:
    if family is None:
        return Engine()
    ratio = family.gear_ratio_e4
    return Engine(
        gear_ratio=ratio / 10_000 if ratio is not None else None,
        lowest=family.throttle_from_rpm,
        highest=family.throttle_to_rpm,
    )


def _e4(value: Decimal | None, *, field: str) -> int | None:
    return to_e4(value, field=field) if value is not None else None


def _float(value: Decimal | None) -> float | None:
    return float(value) if value is not None else None


def _moved(job: Job, data: RecordTestInput) -> Entry:
    if not data.has_passed:
        return move_job(job, Stage.IN_HAND, work_order=job.work_order, why=data.remarks)
    set_outcome(job, Outcome.DONE)
    return move_job(job, Stage.READY, work_order=job.work_order)


def _tested(test: JobTest, job: Job) -> Entry:
    facts: Payload = {"job": job.position, "kind": test.kind, "passed": test.has_passed}
    return Entry(verb="record test", record=test, facts=facts, work_order=job.work_order)

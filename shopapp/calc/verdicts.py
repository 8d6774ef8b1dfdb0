"""The verdict on any reading, and what else it says: one way for the desk, the tablet and the record.

The tablet judges by itself while it has no network (``static/bench/verdicts.js``); one table of cases holds
both to the same answers.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shopapp.calc.errors import BadInput
from shopapp.calc.limits import Limit, Verdict, judge, limit_in, worst
from shopapp.calc.propeller import full_throttle
from shopapp.calc.readings import (
    PRESSURES,
    LeakBand,
    Level,
    LossLimit,
    compression,
    fluid_loss,
    held,
    leak_down,
    wet_rise,
)
from shopapp.calc.units import FACTS, Unit, convert, units_like

MINUTES_AN_HOUR = 60.0
# the figure of a reading that is not taken by cylinder
ALONE = 0


class Kind(StrEnum):
    """What is measured; the values are stored."""

    COMPRESSION = "compression"
    LEAK_DOWN = "leak_down"
    OIL_PRESSURE = "oil_pressure"
    FUEL_PRESSURE = "fuel_pressure"
    VOLTAGE = "voltage"
    TEMPERATURE = "temperature"
    GEARCASE_PRESSURE = "gearcase_pressure"
    GEARCASE_VACUUM = "gearcase_vacuum"
    FLUID_LOSS = "fluid_loss"
    FULL_THROTTLE = "full_throttle"


BY_CYLINDER = (Kind.COMPRESSION, Kind.LEAK_DOWN)
OVER_TIME = (Kind.GEARCASE_PRESSURE, Kind.GEARCASE_VACUUM, Kind.FLUID_LOSS)


class Finding(StrEnum):
    """What a reading says besides its verdict."""

    SPREAD = "spread"
    RINGS = "rings"
    LEAK_GOOD = "leak_good"
    LEAK_SERVICEABLE = "leak_serviceable"
    LEAK_WORN = "leak_worn"
    LEAK_OVERHAUL = "leak_overhaul"
    LOSS_A_MINUTE = "loss_a_minute"
    ROSE = "rose"
    SHORT = "short"
    LOSS_AN_HOUR = "loss_an_hour"
    GAIN_AN_HOUR = "gain_an_hour"
    HOURS_LEFT = "hours_left"
    BELOW_MINIMUM = "below_minimum"
    MORE_PITCH = "more_pitch"
    LESS_PITCH = "less_pitch"


@dataclass(frozen=True, kw_only=True)
class Figure:
    """What was read, and what was read after it: see ``Measured``."""

    value: float
    second: float | None = None


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A reading: figures by cylinder number, or one ``ALONE``; ``minutes`` where it is taken over time.

    Compression: ``second`` is wet. Leak-down: ``value`` supplied, ``second`` held. Over time: ``value`` at
    the start, ``second`` at the end. Fluid loss: ``value`` lost in running minutes, ``second`` what is left.
    Full throttle: ``second`` is the pitch of the propeller in inches.
    """

    kind: Kind
    figures: Mapping[int, Figure]
    unit: Unit | None = None
    minutes: float | None = None


@dataclass(frozen=True, kw_only=True)
class Allowed:
    """What the spec book allows. Leak-down: most per cent.

    Fluid loss: most in an hour, and ``least`` that must be left in it, in ``least_unit``.
    """

    limit: Limit | None = None
    least: float | None = None
    least_unit: Unit | None = None
    most_spread: float | None = None
    loss: LossLimit | None = None


@dataclass(frozen=True, kw_only=True)
class Said:
    """A finding with its figure, of a cylinder or of the whole."""

    finding: Finding
    figure: float | None = None
    cylinder: int = ALONE


@dataclass(frozen=True, kw_only=True)
class Judged:
    """The verdict on the whole and on each figure, and what else the reading says."""

    verdict: Verdict
    figures: Mapping[int, Verdict]
    said: tuple[Said, ...] = ()


def units_of(kind: Kind) -> tuple[Unit | None, ...]:
    """The units in which a kind is read; None alone for volts and revs, which have no other."""
    if kind in (Kind.VOLTAGE, Kind.FULL_THROTTLE):
        return (None,)
    if kind == Kind.FLUID_LOSS:
        return units_like(Unit.LITRE)
    return (Unit.CELSIUS, Unit.FAHRENHEIT) if kind == Kind.TEMPERATURE else PRESSURES


def limit_units_of(kind: Kind) -> tuple[Unit | None, ...]:
    """The units in which a limit is written; a leak-down's is in per cent."""
    return (None,) if kind == Kind.LEAK_DOWN else units_of(kind)


def judged(measured: Measured, *, allowed: Allowed) -> Judged:
    """The verdict on a reading; no limit known is a verdict too. It blocks nothing.

    Raises:
        BadInput: figures that this kind of reading can't have, or a unit of something else.
    """
    _require_fit(measured)
    return _WAYS.get(measured.kind, _figure)(measured, allowed)


def _require_fit(measured: Measured) -> None:
    fitting = units_of(measured.kind)
    if measured.unit not in fitting:
        names = ", ".join(FACTS[one].symbol for one in fitting if one is not None)
        symbol = FACTS[measured.unit].symbol if measured.unit is not None else ""
        raise BadInput("unit", symbol, f"one of {names}" if names else "no unit")
    if not measured.figures:
        raise BadInput("value", "", "a reading of one cylinder or more")
    is_alone = set(measured.figures) == {ALONE}
    if is_alone == (measured.kind in BY_CYLINDER):
        raise BadInput("value", "", "one figure a cylinder" if is_alone else "one figure")


def _compression(measured: Measured, allowed: Allowed) -> Judged:
    found = compression(
        {number: one.value for number, one in measured.figures.items()},
        unit=_unit(measured),
        limit=allowed.limit,
        most_spread=allowed.most_spread,
    )
    said = [Said(finding=Finding.SPREAD, figure=found.spread)] if found.spread is not None else []
    for number, one in measured.figures.items():
        if one.second is not None and wet_rise(one.value, wet=one.second).points_to_rings:
            said.append(Said(finding=Finding.RINGS, cylinder=number))
    return Judged(verdict=found.verdict, figures=found.verdicts, said=tuple(said))


_BANDS = {
    LeakBand.GOOD: Finding.LEAK_GOOD,
    LeakBand.SERVICEABLE: Finding.LEAK_SERVICEABLE,
    LeakBand.WORN: Finding.LEAK_WORN,
    LeakBand.OVERHAUL: Finding.LEAK_OVERHAUL,
}


def _leak_down(measured: Measured, allowed: Allowed) -> Judged:
    most = allowed.limit.maximum if allowed.limit is not None else None
    tests = {
        number: leak_down(one.value, held=_second(one), most=most) for number, one in measured.figures.items()
    }
    return Judged(
        verdict=worst(one.verdict for one in tests.values()),
        figures={number: one.verdict for number, one in tests.items()},
        said=tuple(
            Said(finding=_BANDS[one.band], figure=one.per_cent, cylinder=number)
            for number, one in tests.items()
        ),
    )


def _held(measured: Measured, allowed: Allowed) -> Judged:
    one = measured.figures[ALONE]
    found = held(
        one.value,
        end=_second(one),
        minutes=_minutes(measured),
        unit=_unit(measured),
        limit=allowed.loss,
    )
    said = [Said(finding=Finding.ROSE) if found.rose else _loss(found.per_minute)]
    if found.is_short and allowed.loss is not None:
        said.append(Said(finding=Finding.SHORT, figure=allowed.loss.minutes))
    return Judged(verdict=found.verdict, figures={ALONE: found.verdict}, said=tuple(said))


def _loss(per_minute: float) -> Said:
    return Said(finding=Finding.LOSS_A_MINUTE, figure=per_minute)


def _fluid_loss(measured: Measured, allowed: Allowed) -> Judged:
    # all in the unit of the jug: litres are only what the sum calls it
    one, unit = measured.figures[ALONE], _unit(measured)
    limit = allowed.limit if allowed.limit is None else limit_in(allowed.limit, unit=unit)
    level = None
    if one.second is not None and allowed.least is not None:
        least = convert(allowed.least, from_unit=allowed.least_unit or unit, to_unit=unit)
        level = Level(now=one.second, minimum=least)
    found = fluid_loss(
        one.value,
        running_hours=_minutes(measured) / MINUTES_AN_HOUR,
        level=level,
        most_per_hour=limit.maximum if limit is not None else None,
    )
    # a fill below its minimum is out of limits, however slowly it goes
    verdict = Verdict.OUT_OF_LIMITS if found.is_below_minimum else found.verdict
    rate = found.litres_per_hour
    which = Finding.LOSS_AN_HOUR if rate >= 0 else Finding.GAIN_AN_HOUR
    said = [Said(finding=which, figure=abs(rate))]
    if found.is_below_minimum:
        said.append(Said(finding=Finding.BELOW_MINIMUM))
    elif found.hours_left is not None:
        said.append(Said(finding=Finding.HOURS_LEFT, figure=found.hours_left))
    return Judged(verdict=verdict, figures={ALONE: verdict}, said=tuple(said))


def _full_throttle(measured: Measured, allowed: Allowed) -> Judged:
    one, limit = measured.figures[ALONE], allowed.limit
    if limit is None or limit.minimum is None or limit.maximum is None or one.second is None:
        return _figure(measured, allowed)
    found = full_throttle(one.value, lowest=limit.minimum, highest=limit.maximum, pitch=one.second)
    said = []
    if found.whole_inches:
        which = Finding.MORE_PITCH if found.whole_inches > 0 else Finding.LESS_PITCH
        said.append(Said(finding=which, figure=float(abs(found.whole_inches))))
    return Judged(verdict=found.verdict, figures={ALONE: found.verdict}, said=tuple(said))


def _figure(measured: Measured, allowed: Allowed) -> Judged:
    verdict = judge(measured.figures[ALONE].value, unit=measured.unit, limit=allowed.limit)
    return Judged(verdict=verdict, figures={ALONE: verdict})


_WAYS: Mapping[Kind, Callable[[Measured, Allowed], Judged]] = {
    Kind.COMPRESSION: _compression,
    Kind.LEAK_DOWN: _leak_down,
    Kind.GEARCASE_PRESSURE: _held,
    Kind.GEARCASE_VACUUM: _held,
    Kind.FLUID_LOSS: _fluid_loss,
    Kind.FULL_THROTTLE: _full_throttle,
}


def _unit(measured: Measured) -> Unit:
    if measured.unit is None:
        raise BadInput("unit", "", "the unit of the gauge")
    return measured.unit


def _second(one: Figure) -> float:
    if one.second is None:
        raise BadInput("second", "", "the second figure of the test")
    return one.second


def _minutes(measured: Measured) -> float:
    if measured.minutes is None:
        raise BadInput("minutes", "", "a time above 0 minutes")
    return measured.minutes


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a limit of the spec book is for; empty: wherever, warm or cold."""

    point: str = ""
    warmth: str = ""


def fitting(cases: Sequence[Case], *, point: str, warmth: str) -> int | None:
    """The place of the case that fits a reading best; None where none fits.

    One of the same place wins over one for wherever, then one of the same warmth over one for both.
    """
    where = _folded(point)
    fits = [
        (_folded(case.point) == where != "", case.warmth == warmth != "", -place)
        for place, case in enumerate(cases)
        if _folded(case.point) in ("", where) and case.warmth in ("", warmth)
    ]
    return -max(fits)[2] if fits else None


def _folded(text: str) -> str:
    return " ".join(text.split()).casefold()

"""Readings of an engine: compression by cylinder, leak-down, pressure and vacuum over time, fluid loss.

Voltage, temperature and the like are one figure, which `limits.judge` judges by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from shopapp.calc.errors import BadInput
from shopapp.calc.limits import NOISE, Limit, Verdict, judge, worst
from shopapp.calc.units import FACTS, Unit

# a few strokes' oil that lifts compression by this share points to the rings: common practice, no source
WET_RISE = 0.1


@dataclass(frozen=True, kw_only=True)
class Compression:
    """Cylinders by number with their verdicts; `spread` is (highest − lowest) ÷ highest in per cent.

    `spread` is None for one cylinder, and where no cylinder has any compression.
    """

    verdicts: Mapping[int, Verdict]
    highest: float
    lowest: float
    spread: float | None
    spread_verdict: Verdict
    verdict: Verdict


def compression(
    cylinders: Mapping[int, float],
    *,
    unit: Unit,
    limit: Limit | None = None,
    most_spread: float | None = None,
) -> Compression:
    """Each cylinder against the limit, and the spread between them against `most_spread` per cent.

    The spread is reckoned of the highest: common practice, no source.

    Raises:
        BadInput: no cylinder, a cylinder number below 1, a pressure below 0, or a unit that is no pressure.
    """
    if not cylinders:
        raise BadInput("cylinders", "", "a reading of one cylinder or more")
    for number, value in cylinders.items():
        if number < 1:
            raise BadInput("cylinder", number, "a cylinder number from 1")
        _not_below_nil(value, field=f"cylinder {number}")
    _pressure(unit)
    verdicts = {number: judge(value, unit=unit, limit=limit) for number, value in cylinders.items()}
    highest, lowest = max(cylinders.values()), min(cylinders.values())
    spread = _spread(highest, lowest=lowest) if len(cylinders) > 1 else None
    on_spread = Verdict.NO_LIMIT
    if spread is not None and most_spread is not None:
        on_spread = judge(spread, limit=Limit(maximum=_not_below_nil(most_spread, field="most spread")))
    return Compression(
        verdicts=verdicts,
        highest=highest,
        lowest=lowest,
        spread=spread,
        spread_verdict=on_spread,
        verdict=worst([*verdicts.values(), on_spread]),
    )


@dataclass(frozen=True, kw_only=True)
class WetRise:
    """By how much oil in the cylinder lifted its compression; `points_to_rings` is a hint, not a finding."""

    rise: float
    points_to_rings: bool


def wet_rise(dry: float, *, wet: float) -> WetRise:
    """Dry and wet compression of one cylinder, in the same unit. Common practice, no source.

    A rise of a tenth or more points to the rings; one that stays as low when wet points to valves or gasket.
    """
    _not_below_nil(dry, field="dry compression")
    _not_below_nil(wet, field="wet compression")
    rise = wet - dry
    return WetRise(rise=rise, points_to_rings=rise > 0 and rise >= WET_RISE * dry * (1 - NOISE))


class LeakBand(StrEnum):
    """How a cylinder that loses so much is usually called: common practice, no source."""

    GOOD = "good"
    SERVICEABLE = "serviceable"
    WORN = "worn"
    OVERHAUL = "overhaul"


# highest leak in per cent of each band
LEAK_BANDS = ((10.0, LeakBand.GOOD), (20.0, LeakBand.SERVICEABLE), (30.0, LeakBand.WORN))


@dataclass(frozen=True, kw_only=True)
class LeakDown:
    """What a cylinder loses of the air put into it, in per cent."""

    per_cent: float
    band: LeakBand
    verdict: Verdict


def leak_down(supplied: float, *, held: float, most: float | None = None) -> LeakDown:
    """A leak-down test from its two gauges, in one unit: (supplied − held) ÷ supplied.

    Raises:
        BadInput: nothing supplied, or more held than supplied.
    """
    if not (isfinite(supplied) and supplied > 0):
        raise BadInput("pressure supplied", supplied, "a pressure above 0")
    if not 0 <= held <= supplied:
        raise BadInput("pressure held", held, f"a pressure from 0 to the {supplied:g} supplied")
    per_cent = (supplied - held) / supplied * 100
    band = next((band for top, band in LEAK_BANDS if per_cent <= top + NOISE), LeakBand.OVERHAUL)
    limit = None if most is None else Limit(maximum=_not_below_nil(most, field="most leak"))
    return LeakDown(per_cent=per_cent, band=band, verdict=judge(per_cent, limit=limit))


@dataclass(frozen=True, kw_only=True)
class LossLimit:
    """How much a pressure or a vacuum may lose in so many minutes."""

    loss: float
    minutes: float
    unit: Unit

    def __post_init__(self) -> None:
        _not_below_nil(self.loss, field="loss allowed")
        _minutes(self.minutes)
        _pressure(self.unit)


@dataclass(frozen=True, kw_only=True)
class Held:
    """How a pressure or a vacuum held. `loss` below 0 means that it rose: look at the gauge, or at warming.

    `is_short`: the test was shorter than the limit asks, so it is judged by what it lost a minute.
    """

    loss: float
    per_minute: float
    is_short: bool
    verdict: Verdict

    @property
    def rose(self) -> bool:
        """Whether there was more at the end than at the start."""
        return self.loss < 0


def held(start: float, *, end: float, minutes: float, unit: Unit, limit: LossLimit | None = None) -> Held:
    """A pressure or vacuum test over time; a vacuum is given as an amount below the air's pressure.

    Judged by what was lost a minute, so that a longer test than the limit's is as good.
    """
    _not_below_nil(start, field="start")
    _not_below_nil(end, field="end")
    _minutes(minutes)
    _pressure(unit)
    rate = (start - end) / minutes
    allowed = None if limit is None else Limit(maximum=limit.loss / limit.minutes, unit=limit.unit)
    return Held(
        loss=start - end,
        per_minute=rate,
        is_short=limit is not None and minutes < limit.minutes,
        verdict=judge(rate, unit=unit, limit=allowed),
    )


@dataclass(frozen=True, kw_only=True)
class FluidLoss:
    """What a fluid loses while the engine runs; below 0: it gains. `hours_left`: running, until the minimum.

    `hours_left` is None where nothing is lost or no level is known, and 0 where `is_below_minimum`.
    """

    litres_per_hour: float
    hours_left: float | None
    is_below_minimum: bool
    verdict: Verdict


@dataclass(frozen=True, kw_only=True)
class Level:
    """What is in now and the least that may be, in litres."""

    now: float
    minimum: float

    def __post_init__(self) -> None:
        _not_below_nil(self.now, field="level now")
        _not_below_nil(self.minimum, field="minimum level")


def fluid_loss(
    litres: float, *, running_hours: float, level: Level | None = None, most_per_hour: float | None = None
) -> FluidLoss:
    """Litres lost (below 0: gained) over running hours, and how long it may run until the minimum.

    Raises:
        BadInput: no running time, or a figure that is no number.
    """
    if not isfinite(litres):
        raise BadInput("litres lost", litres, "a finite number")
    if not (isfinite(running_hours) and running_hours > 0):
        raise BadInput("running time", running_hours, "a time above 0 hours")
    rate = litres / running_hours
    limit = None if most_per_hour is None else Limit(maximum=_not_below_nil(most_per_hour, field="most loss"))
    return FluidLoss(
        litres_per_hour=rate,
        hours_left=_hours_left(rate, level=level),
        is_below_minimum=level is not None and level.now < level.minimum,
        verdict=judge(rate, limit=limit),
    )


def _hours_left(rate: float, *, level: Level | None) -> float | None:
    if level is None:
        return None
    if level.now < level.minimum:
        return 0.0
    left = (level.now - level.minimum) / rate if rate > 0 else None
    # a loss too small to measure would leave more hours than there are numbers
    return left if left is not None and isfinite(left) else None


def _spread(highest: float, *, lowest: float) -> float | None:
    return (highest - lowest) / highest * 100 if highest > 0 else None


def _not_below_nil(value: float, *, field: str) -> float:
    if not (isfinite(value) and value >= 0):
        raise BadInput(field, value, "a figure of 0 or more")
    return value


def _minutes(value: float) -> None:
    if not (isfinite(value) and value > 0):
        raise BadInput("minutes", value, "a time above 0 minutes")


PRESSURES = (Unit.KILOPASCAL, Unit.PSI, Unit.BAR, Unit.INCH_OF_MERCURY)


def _pressure(unit: Unit) -> None:
    if unit not in PRESSURES:
        raise BadInput(
            "unit", FACTS[unit].symbol, "one of " + ", ".join(FACTS[one].symbol for one in PRESSURES)
        )

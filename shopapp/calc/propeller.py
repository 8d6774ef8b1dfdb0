"""What a propeller should do and does: theoretical speed, slip, and the pitch that suits full throttle."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, isfinite

from shopapp.calc.errors import BadInput
from shopapp.calc.limits import Limit, Verdict, judge
from shopapp.calc.units import FACTS, Unit, convert, units_like

# 1 mile is 63,360 inches (5,280 ft of 12 in, by definition)
INCHES_AN_HOUR_TO_MPH = 60 / 63_360
# what an inch of pitch changes at full throttle, 150 to 200 as a rule: common practice, no source
RPM_PER_INCH = 200.0
NOISE = 1e-9


@dataclass(frozen=True, kw_only=True)
class Drive:
    """Gear ratio (engine turns for one of the propeller) and pitch of the propeller in inches."""

    gear_ratio: float
    pitch: float

    def __post_init__(self) -> None:
        _above_nil(self.gear_ratio, field="gear ratio", accepted="a ratio above 0, such as 1.85")
        _above_nil(self.pitch, field="pitch", accepted="a pitch above 0 inches")


def theoretical_speed(rpm: float, *, drive: Drive, unit: Unit) -> float:
    """The speed if the water were solid: rpm ÷ gear ratio × pitch. Arithmetic, no source needed."""
    _above_nil(rpm, field="rpm", accepted="a figure above 0 rpm")
    miles = rpm / drive.gear_ratio * drive.pitch * INCHES_AN_HOUR_TO_MPH
    return convert(miles, from_unit=Unit.MILE_PER_HOUR, to_unit=_speed(unit))


def slip(advance: float, *, theoretical: float) -> float:
    """How much of the theoretical advance is lost, in per cent; both in one unit.

    Below 0 it is shown as it is: the water moves, or rpm, pitch or gear ratio is not what was thought.
    """
    if not (isfinite(advance) and advance >= 0):
        raise BadInput("speed", advance, "a figure of 0 or more")
    _above_nil(theoretical, field="theoretical speed", accepted="a figure above 0")
    lost = (theoretical - advance) / theoretical * 100
    if not isfinite(lost):
        raise BadInput("speed", advance, "a speed that the propeller could come near to")
    return lost


def two_way_speed(runs: Sequence[float]) -> float:
    """The mean of the speeds there and back, which takes wind and current out. Common practice, no source."""
    if len(runs) != 2:
        raise BadInput("runs", len(runs), "two speeds, one each way")
    for speed in runs:
        if not (isfinite(speed) and speed >= 0):
            raise BadInput("speed", speed, "a figure of 0 or more")
    return runs[0] / 2 + runs[1] / 2


@dataclass(frozen=True, kw_only=True)
class Run:
    """A run at one rpm: what the propeller would make, what the boat made, and the slip in per cent."""

    theoretical: float
    speed: float
    unit: Unit
    slip: float
    question: str


def measured_run(speed: float, *, unit: Unit, rpm: float, drive: Drive) -> Run:
    """Slip of a measured speed. It asks where the boat would have outrun its propeller."""
    theoretical = theoretical_speed(rpm, drive=drive, unit=unit)
    lost = slip(speed, theoretical=theoretical)
    question = ""
    if lost < -NOISE:
        question = "Faster than its propeller can be. Check rpm, pitch, gear ratio and the current."
    return Run(theoretical=theoretical, speed=speed, unit=unit, slip=lost, question=question)


class Hull(StrEnum):
    """Kinds of boat that slip differently."""

    PERFORMANCE = "performance"
    CENTRE_CONSOLE = "centre_console"
    RUNABOUT = "runabout"
    HEAVY_CRUISER = "heavy_cruiser"
    WORK_BOAT = "work_boat"


# per cent at full speed: a guideline of a secondary source, see ENG-020 in tests/reference/engine_checks.json
USUAL_SLIP = {
    Hull.PERFORMANCE: Limit(minimum=5, maximum=12),
    Hull.CENTRE_CONSOLE: Limit(minimum=8, maximum=18),
    Hull.RUNABOUT: Limit(minimum=10, maximum=20),
    Hull.HEAVY_CRUISER: Limit(minimum=15, maximum=30),
    Hull.WORK_BOAT: Limit(minimum=30, maximum=50),
}


@dataclass(frozen=True, kw_only=True)
class FullThrottle:
    """Full-throttle rpm against the maker's range, and what pitch would bring it there.

    `inches`: the change of pitch to the nearest bound, above 0 for more pitch; 0 inside the range.
    `whole_inches`: the smallest change in whole inches that lands inside, at about `lands_at` rpm; both are
    None where the range is too narrow for a whole inch, or no pitch would be left.
    """

    verdict: Verdict
    inches: float
    whole_inches: int | None
    lands_at: float | None


def full_throttle(
    rpm: float, *, lowest: float, highest: float, pitch: float, rpm_per_inch: float = RPM_PER_INCH
) -> FullThrottle:
    """Whether the engine turns as fast at full throttle as its maker wants, and the pitch that would do it.

    More pitch brings rpm down by `rpm_per_inch`: common practice, no source; a trial decides. Load, trim and
    a worn engine change rpm as well, so it is advice. Above the range is as wrong as below.

    Raises:
        BadInput: a figure that is not above 0, or a range whose end is below its start.
    """
    for name, value in (("rpm", rpm), ("lowest rpm", lowest), ("rpm per inch", rpm_per_inch)):
        _above_nil(value, field=name, accepted="a figure above 0")
    _above_nil(pitch, field="pitch", accepted="a pitch above 0 inches")
    if not (isfinite(highest) and highest >= lowest):
        raise BadInput("highest rpm", highest, f"a figure of {lowest:g} or more, the lowest")
    verdict = judge(rpm, limit=Limit(minimum=lowest, maximum=highest))
    inches = (rpm - min(max(rpm, lowest), highest)) / rpm_per_inch
    if not isfinite(inches):
        raise BadInput(
            "rpm per inch", rpm_per_inch, f"what an inch of pitch changes, such as {RPM_PER_INCH:g}"
        )
    whole = ceil(abs(inches) - NOISE) * (1 if inches > 0 else -1)
    lands_at = rpm - whole * rpm_per_inch
    is_reached = lowest - NOISE <= lands_at <= highest + NOISE and pitch + whole > 0
    return FullThrottle(
        verdict=verdict,
        inches=inches,
        whole_inches=whole if is_reached else None,
        lands_at=lands_at if is_reached else None,
    )


def _speed(unit: Unit) -> Unit:
    fitting = units_like(Unit.KNOT)
    if unit not in fitting:
        raise BadInput(
            "unit", FACTS[unit].symbol, "one of " + ", ".join(FACTS[one].symbol for one in fitting)
        )
    return unit


def _above_nil(value: float, *, field: str, accepted: str) -> None:
    if not (isfinite(value) and value > 0):
        raise BadInput(field, value, accepted)

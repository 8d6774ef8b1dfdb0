"""What a run on the water shows: speed both ways, slip, and whether full throttle lies in the maker's range.

The sums are those of ``calc.propeller``; what can't be reckoned for want of a figure is left out.
"""

from dataclasses import dataclass

from shopapp.calc.errors import BadInput
from shopapp.calc.limits import Verdict
from shopapp.calc.propeller import Drive, full_throttle, measured_run, two_way_speed
from shopapp.calc.units import Unit


@dataclass(frozen=True, kw_only=True)
class Trial:
    """Speeds there and back in `unit`, rpm, the propeller's pitch in inches; None for what nobody read."""

    there: float | None = None
    back: float | None = None
    unit: Unit | None = None
    rpm: float | None = None
    pitch: float | None = None


@dataclass(frozen=True, kw_only=True)
class Engine:
    """What the spec book knows: gear ratio, and the range at full throttle in rpm."""

    gear_ratio: float | None = None
    lowest: float | None = None
    highest: float | None = None


@dataclass(frozen=True, kw_only=True)
class Shown:
    """Mean speed, slip in per cent, the verdict on rpm, inches of pitch that would help, and a question."""

    speed: float | None = None
    slip: float | None = None
    verdict: Verdict = Verdict.NO_LIMIT
    inches: int | None = None
    question: str = ""


def shown_by(trial: Trial, *, engine: Engine) -> Shown:
    """All that the figures say.

    Raises:
        BadInput: one speed without the other, or a figure that can't be.
    """
    if (trial.there is None) is not (trial.back is None):
        raise BadInput("speed", "", "both speeds, there and back: one alone holds the wind and the current")
    speed = None
    if trial.there is not None and trial.back is not None:
        speed = two_way_speed([trial.there, trial.back])
    verdict, inches = _on_rpm(trial, engine=engine)
    slip, question = _on_slip(trial, speed=speed, engine=engine)
    return Shown(speed=speed, slip=slip, verdict=verdict, inches=inches, question=question)


def _on_rpm(trial: Trial, *, engine: Engine) -> tuple[Verdict, int | None]:
    if trial.rpm is None or engine.lowest is None or engine.highest is None:
        return Verdict.NO_LIMIT, None
    # without a pitch there is still a verdict; how many inches would help is then nobody's guess
    throttle = full_throttle(trial.rpm, lowest=engine.lowest, highest=engine.highest, pitch=trial.pitch or 1)
    return throttle.verdict, throttle.whole_inches if trial.pitch else None


def _on_slip(trial: Trial, *, speed: float | None, engine: Engine) -> tuple[float | None, str]:
    if speed is None or trial.unit is None or not (trial.rpm and trial.pitch and engine.gear_ratio):
        return None, ""
    drive = Drive(gear_ratio=engine.gear_ratio, pitch=trial.pitch)
    run = measured_run(speed, unit=trial.unit, rpm=trial.rpm, drive=drive)
    return run.slip, run.question

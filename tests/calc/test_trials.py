"""What a run on the water shows, reckoned by hand beside each case; what nobody read is left out."""

import pytest

from shopapp.calc.errors import BadInput
from shopapp.calc.limits import Verdict
from shopapp.calc.trials import Engine, Shown, Trial, shown_by
from shopapp.calc.units import Unit

KNOWN = Engine(gear_ratio=2.0, lowest=5000, highest=6000)


def test_run_gives_mean_slip_and_verdict() -> None:
    # 5,500 rpm ÷ 2 × 17 in = 46,750 in a minute = 44.27 mph (63,360 in a mile); 38 mph are 14.2 % less
    trial = Trial(there=40, back=36, unit=Unit.MILE_PER_HOUR, rpm=5500, pitch=17)

    shown = shown_by(trial, engine=KNOWN)

    assert (shown.speed, shown.verdict, shown.question) == (38, Verdict.IN_LIMITS, "")
    assert shown.slip == pytest.approx((46_750 * 60 / 63_360 - 38) / (46_750 * 60 / 63_360) * 100)
    assert round(shown.slip or 0, 1) == 14.2


@pytest.mark.parametrize(
    ("rpm", "inches"),
    # 200 rpm an inch: common practice, no source
    [(4600, -2), (6500, 3), (5500, 0)],
)
def test_full_throttle_out_of_range_asks_for_other_pitch(rpm: float, inches: int) -> None:
    assert (shown_by(Trial(rpm=rpm, pitch=17), engine=KNOWN).inches or 0) == inches


def test_what_nobody_read_is_left_out() -> None:
    assert shown_by(Trial(), engine=Engine()) == Shown()
    assert shown_by(Trial(rpm=5500), engine=Engine()) == Shown()
    assert shown_by(Trial(rpm=4600), engine=KNOWN) == Shown(verdict=Verdict.OUT_OF_LIMITS)
    assert shown_by(Trial(there=20, back=22, unit=Unit.KNOT), engine=KNOWN) == Shown(speed=21)


@pytest.mark.parametrize("trial", [Trial(there=20), Trial(back=20), Trial(there=-1, back=2)])
def test_impossible_speeds_are_refused(trial: Trial) -> None:
    with pytest.raises(BadInput):
        shown_by(trial, engine=KNOWN)


def test_boat_faster_than_its_propeller_is_questioned() -> None:
    trial = Trial(there=60, back=60, unit=Unit.MILE_PER_HOUR, rpm=5500, pitch=17)

    assert shown_by(trial, engine=KNOWN).question.startswith("Faster than its propeller")

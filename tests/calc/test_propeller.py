"""Propellers: published slip, speeds there and back, and pitch for the range at full throttle."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.limits import Verdict, judge
from shopapp.calc.propeller import (
    USUAL_SLIP,
    Drive,
    FullThrottle,
    Hull,
    full_throttle,
    measured_run,
    slip,
    theoretical_speed,
    two_way_speed,
)
from shopapp.calc.units import Unit, convert
from tests.reference.cases import case

DRIVE = Drive(gear_ratio=1.85, pitch=17)
SPEEDS = (Unit.KNOT, Unit.MILE_PER_HOUR, Unit.KILOMETRE_PER_HOUR)


def at_full_throttle(rpm: float, *, lowest: float = 5000, highest: float = 6000) -> FullThrottle:
    return full_throttle(rpm, lowest=lowest, highest=highest, pitch=17)


def test_slip_of_a_run_is_the_published_one() -> None:
    published = case("engine_checks", "ENG-016")
    drive = Drive(gear_ratio=published.inputs["gear_ratio"], pitch=published.inputs["pitch_in"])

    run = measured_run(
        published.inputs["speed_mph"], unit=Unit.MILE_PER_HOUR, rpm=published.inputs["rpm"], drive=drive
    )

    # the printed figures are rounded on the way; the exact ones follow from its own formula
    assert round(run.theoretical, 2) == published.expected["theoretical_exact"]
    assert round(run.slip, 2) == published.expected["slip_exact_pct"]
    assert run.question == ""


def test_slip_of_a_turn_is_the_published_one() -> None:
    published = case("engine_checks", "ENG-018")

    for advance, printed in zip(published.inputs["advance_in"], published.expected["slip_pct"], strict=True):
        # the source cuts off instead of rounding
        assert int(slip(advance, theoretical=published.inputs["pitch_in"]) * 100) / 100 == printed


def test_usual_slip_is_that_of_the_guideline() -> None:
    published = case("engine_checks", "ENG-020")

    for name, (lowest, highest) in zip(published.inputs["hull"], published.expected["slip_pct"], strict=True):
        usual = USUAL_SLIP[Hull(name.replace(" ", "_"))]
        assert (usual.minimum, usual.maximum) == (lowest, highest)
        assert judge(lowest - 1, limit=usual) == judge(highest + 1, limit=usual) == Verdict.OUT_OF_LIMITS
        assert judge((lowest + highest) / 2, limit=usual) == Verdict.IN_LIMITS


@given(st.integers(1, 12_000), st.sampled_from(SPEEDS))
def test_slip_is_the_same_in_any_unit(rpm: int, unit: Unit) -> None:
    knots = theoretical_speed(rpm, drive=DRIVE, unit=Unit.KNOT) * 0.87
    there = convert(knots, from_unit=Unit.KNOT, to_unit=unit)

    assert measured_run(there, unit=unit, rpm=rpm, drive=DRIVE).slip == pytest.approx(13)


@given(st.integers(0, 800), st.integers(1, 100))
def test_faster_boat_slips_less(tenths: int, more: int) -> None:
    slower, faster = (
        measured_run(speed / 10, unit=Unit.KNOT, rpm=5500, drive=DRIVE) for speed in (tenths, tenths + more)
    )

    assert faster.slip < slower.slip <= 100


def test_boat_that_outruns_its_propeller_is_asked_about() -> None:
    run = measured_run(60, unit=Unit.KNOT, rpm=5500, drive=DRIVE)

    assert run.slip < 0
    assert run.question == "Faster than its propeller can be. Check rpm, pitch, gear ratio and the current."


def test_speed_is_the_mean_of_both_ways() -> None:
    assert two_way_speed([31.0, 28.0]) == 29.5


@pytest.mark.parametrize(
    ("rpm", "verdict", "inches", "whole", "lands_at"),
    [
        (5500, Verdict.IN_LIMITS, 0, 0, 5500),
        (6000, Verdict.AT_EDGE, 0, 0, 6000),
        (6500, Verdict.OUT_OF_LIMITS, 2.5, 3, 5900),
        (6400, Verdict.OUT_OF_LIMITS, 2, 2, 6000),
        (4700, Verdict.OUT_OF_LIMITS, -1.5, -2, 5100),
        # 17 inches less would leave nothing
        (1700, Verdict.OUT_OF_LIMITS, -16.5, None, None),
    ],
)
def test_pitch_brings_full_throttle_into_range(
    rpm: float, verdict: Verdict, inches: float, whole: int | None, lands_at: float | None
) -> None:
    found = at_full_throttle(rpm)

    assert found == FullThrottle(verdict=verdict, inches=inches, whole_inches=whole, lands_at=lands_at)


def test_range_narrower_than_an_inch_may_have_no_whole_one() -> None:
    found = at_full_throttle(5750, lowest=5500, highest=5500)

    assert (found.inches, found.whole_inches, found.lands_at) == (1.25, None, None)


@given(st.integers(4000, 7500), st.integers(4500, 6000), st.integers(200, 1000))
def test_whole_inches_land_in_range_and_one_less_does_not(rpm: int, lowest: int, width: int) -> None:
    found = at_full_throttle(rpm, lowest=lowest, highest=lowest + width)
    whole = found.whole_inches

    # a range of 200 rpm or more always holds a whole inch
    assert lowest <= found.lands_at <= lowest + width
    if whole:
        one_less = whole - (1 if whole > 0 else -1)
        assert not lowest <= rpm - one_less * 200 <= lowest + width
    else:
        assert found.verdict != Verdict.OUT_OF_LIMITS


@given(st.integers(1000, 9000), st.integers(0, 2000))
def test_more_rpm_never_asks_for_less_pitch(rpm: int, more: int) -> None:
    assert at_full_throttle(rpm + more).inches >= at_full_throttle(rpm).inches


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (
            lambda: Drive(gear_ratio=0, pitch=17),
            'gear ratio: "0" is not accepted. Give a ratio above 0, such as 1.85.',
        ),
        (
            lambda: Drive(gear_ratio=1.85, pitch=float("nan")),
            'pitch: "nan" is not accepted. Give a pitch above 0 inches.',
        ),
        (
            lambda: theoretical_speed(0, drive=DRIVE, unit=Unit.KNOT),
            'rpm: "0" is not accepted. Give a figure above 0 rpm.',
        ),
        (
            lambda: theoretical_speed(5000, drive=DRIVE, unit=Unit.LITRE),
            'unit: "l" is not accepted. Give one of kn, mph, km/h.',
        ),
        (lambda: slip(-1, theoretical=20), 'speed: "-1" is not accepted. Give a figure of 0 or more.'),
        (
            lambda: slip(1e308, theoretical=1e-308),
            'speed: "1e+308" is not accepted. Give a speed that the propeller could come near to.',
        ),
        (lambda: two_way_speed([30]), 'runs: "1" is not accepted. Give two speeds, one each way.'),
        (
            lambda: two_way_speed([30, float("inf")]),
            'speed: "inf" is not accepted. Give a figure of 0 or more.',
        ),
        (
            lambda: at_full_throttle(5500, lowest=6000, highest=5000),
            'highest rpm: "5000" is not accepted. Give a figure of 6000 or more, the lowest.',
        ),
        (
            lambda: full_throttle(1e300, lowest=1, highest=2, pitch=17, rpm_per_inch=1e-300),
            'rpm per inch: "1e-300" is not accepted. Give what an inch of pitch changes, such as 200.',
        ),
        (lambda: at_full_throttle(float("nan")), 'rpm: "nan" is not accepted. Give a figure above 0.'),
    ],
)
def test_refusal_names_field_value_and_what_is_accepted(bad: Callable[[], object], sentence: str) -> None:
    with pytest.raises(BadInput) as refused:
        bad()

    assert str(refused.value) == sentence

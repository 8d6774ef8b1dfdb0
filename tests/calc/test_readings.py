"""Readings against limits: published checks, what every verdict must hold to, and what is refused."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.limits import Limit, Verdict, judge
from shopapp.calc.readings import (
    LEAK_BANDS,
    LeakBand,
    Level,
    LossLimit,
    compression,
    fluid_loss,
    held,
    leak_down,
    wet_rise,
)
from shopapp.calc.units import Unit, convert
from tests.reference.cases import case

NAN = float("nan")
IN, EDGE, OUT, UNKNOWN = Verdict.IN_LIMITS, Verdict.AT_EDGE, Verdict.OUT_OF_LIMITS, Verdict.NO_LIMIT
# as a gauge is read: to a tenth
figures = st.integers(0, 20_000).map(lambda tenths: tenths / 10)


def in_order(cylinders: list[float]) -> dict[int, float]:
    return dict(enumerate(cylinders, start=1))


def spread_verdict(cylinders: list[float], *, most: float) -> Verdict:
    return compression(in_order(cylinders), unit=Unit.PSI, most_spread=most).spread_verdict


def test_spread_of_four_cylinders_is_the_published_one() -> None:
    published = case("engine_checks", "ENG-033")
    readings = published.inputs["readings_psi"]

    spread = compression(in_order(readings), unit=Unit.PSI).spread

    assert round(spread, 2) == published.expected["spread_pct"]
    assert (spread_verdict(readings, most=10) != OUT) is published.expected["within_10_pct"]
    assert (spread_verdict(readings, most=15) != OUT) is published.expected["within_15_pct"]


def test_spread_after_a_rebuild_is_the_published_one() -> None:
    published = case("engine_checks", "ENG-035")
    readings = published.inputs["readings_psi"]

    assert round(compression(in_order(readings), unit=Unit.PSI).spread, 2) == published.expected["spread_pct"]
    assert (spread_verdict(readings, most=10) == IN) is published.expected["within_10_pct"]


def test_leak_down_bands_are_those_of_common_practice() -> None:
    bands = case("engine_checks", "ENG-037").inputs["bands_pct"]

    for name in ("good", "serviceable", "worn"):
        lowest, highest = bands[name]
        assert leak_down(100, held=100 - highest).band == name
        assert leak_down(100, held=100 - lowest - 0.5).band == name
    assert bands["overhaul"] == f">{LEAK_BANDS[-1][0]:g}"
    assert leak_down(100, held=69.5).band == LeakBand.OVERHAUL


def test_rise_when_wet_points_to_the_rings_as_in_the_reported_case() -> None:
    published = case("engine_checks", "ENG-040")

    for dry in published.inputs["dry_psi"]:
        for rise in published.inputs["wet_rise_psi"]:
            assert wet_rise(dry, wet=dry + rise).points_to_rings is ("rings" in published.expected["reading"])


@pytest.mark.parametrize(("dry", "wet"), [(120, 125), (60, 60), (60, 58), (0, 0)])
def test_no_rise_to_speak_of_points_nowhere(dry: float, wet: float) -> None:
    assert not wet_rise(dry, wet=wet).points_to_rings


def test_each_cylinder_has_its_verdict() -> None:
    found = compression(
        {1: 128, 2: 96, 4: 102}, unit=Unit.PSI, limit=Limit(minimum=100, unit=Unit.PSI), most_spread=30
    )

    assert found.verdicts == {1: IN, 2: OUT, 4: EDGE}
    assert (found.highest, found.lowest, found.spread, found.spread_verdict) == (128, 96, 25, IN)
    assert found.verdict == OUT


def test_cylinder_alone_or_dead_engine_has_no_spread() -> None:
    alone = compression({1: 120}, unit=Unit.PSI, most_spread=10)
    dead = compression({1: 0, 2: 0}, unit=Unit.PSI, limit=Limit(minimum=100, unit=Unit.PSI), most_spread=10)

    assert (alone.spread, alone.spread_verdict, alone.verdict) == (None, UNKNOWN, UNKNOWN)
    assert (dead.spread, dead.spread_verdict, dead.verdict) == (None, UNKNOWN, OUT)


@settings(max_examples=50, deadline=None)
@given(st.lists(figures, min_size=2, max_size=8), st.sampled_from((Unit.PSI, Unit.BAR)))
def test_spread_is_the_same_in_any_unit(cylinders: list[float], unit: Unit) -> None:
    there = [convert(value, from_unit=Unit.KILOPASCAL, to_unit=unit) for value in cylinders]

    assert compression(in_order(there), unit=unit).spread == pytest.approx(
        compression(in_order(cylinders), unit=Unit.KILOPASCAL).spread
    )


def test_vacuum_is_judged_by_what_it_lost_a_minute() -> None:
    limit = LossLimit(loss=7, minutes=5, unit=Unit.KILOPASCAL)

    tight = held(35, end=34, minutes=5, unit=Unit.KILOPASCAL, limit=limit)
    leaking = held(5, end=3, minutes=2, unit=Unit.PSI, limit=limit)

    assert (tight.loss, tight.per_minute, tight.is_short, tight.verdict) == (1, 0.2, False, IN)
    assert (leaking.loss, leaking.per_minute, leaking.is_short, leaking.verdict) == (2, 1, True, OUT)


def test_pressure_that_rose_says_so() -> None:
    found = held(100, end=103, minutes=10, unit=Unit.KILOPASCAL)

    assert (found.rose, found.loss, found.verdict) == (True, -3, UNKNOWN)


def test_loss_over_running_time_gives_the_time_left() -> None:
    # 0.3 l in 1.5 h; 0.25 l above the minimum
    found = fluid_loss(0.3, running_hours=1.5, level=Level(now=0.75, minimum=0.5), most_per_hour=0.1)

    assert (found.litres_per_hour, found.hours_left) == pytest.approx((0.2, 1.25))
    assert (found.is_below_minimum, found.verdict) == (False, OUT)


@pytest.mark.parametrize(
    ("litres", "level", "hours_left", "is_below"),
    [
        (0.2, None, None, False),
        (0, Level(now=2, minimum=1), None, False),
        (0, Level(now=1, minimum=1), None, False),
        (-0.2, Level(now=2, minimum=1), None, False),
        (0.2, Level(now=1, minimum=1), 0, False),
        (0.2, Level(now=0.9, minimum=1), 0, True),
        (5e-324, Level(now=2, minimum=1), None, False),
    ],
)
def test_time_left_is_only_told_where_there_is_one(
    litres: float, level: Level | None, hours_left: float | None, is_below: bool
) -> None:
    found = fluid_loss(litres, running_hours=1, level=level)

    assert (found.hours_left, found.is_below_minimum) == (hours_left, is_below)


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (lambda: judge(NAN, limit=None), 'reading: "nan" is not accepted. Give a finite number.'),
        (Limit, 'limit: "" is not accepted. Give a minimum, a maximum, or both.'),
        (lambda: Limit(minimum=NAN), 'minimum: "nan" is not accepted. Give a finite number.'),
        (
            lambda: Limit(minimum=5, maximum=4),
            'maximum: "4" is not accepted. Give a figure of 5 or more, the minimum.',
        ),
        (lambda: Limit(minimum=5, edge=-1), 'edge: "-1" is not accepted. Give a figure of 0 or more.'),
        (
            lambda: judge(12, limit=Limit(minimum=5, unit=Unit.BAR)),
            'unit: "" is not accepted. Give a figure in bar.',
        ),
        (
            lambda: judge(12, unit=Unit.BAR, limit=Limit(minimum=5)),
            'unit: "bar" is not accepted. Give no unit.',
        ),
        (
            lambda: judge(12, unit=Unit.BAR, limit=Limit(minimum=5, unit=Unit.CELSIUS)),
            'unit: "°C" is not accepted. Give one of kPa, psi, bar, inHg.',
        ),
        (
            lambda: compression({}, unit=Unit.PSI),
            'cylinders: "" is not accepted. Give a reading of one cylinder or more.',
        ),
        (
            lambda: compression({0: 120}, unit=Unit.PSI),
            'cylinder: "0" is not accepted. Give a cylinder number from 1.',
        ),
        (
            lambda: compression({2: -1}, unit=Unit.PSI),
            'cylinder 2: "-1" is not accepted. Give a figure of 0 or more.',
        ),
        (
            lambda: compression({1: 120}, unit=Unit.LITRE),
            'unit: "l" is not accepted. Give one of kPa, psi, bar, inHg.',
        ),
        (
            lambda: leak_down(0, held=0),
            'pressure supplied: "0" is not accepted. Give a pressure above 0.',
        ),
        (
            lambda: leak_down(80, held=81),
            'pressure held: "81" is not accepted. Give a pressure from 0 to the 80 supplied.',
        ),
        (
            lambda: held(35, end=34, minutes=0, unit=Unit.KILOPASCAL),
            'minutes: "0" is not accepted. Give a time above 0 minutes.',
        ),
        (
            lambda: fluid_loss(0.1, running_hours=0),
            'running time: "0" is not accepted. Give a time above 0 hours.',
        ),
        (
            lambda: fluid_loss(1e308, running_hours=1e-308),
            'reading: "inf" is not accepted. Give a finite number.',
        ),
    ],
)
def test_refusal_names_field_value_and_what_is_accepted(bad: Callable[[], object], sentence: str) -> None:
    with pytest.raises(BadInput) as refused:
        bad()

    assert str(refused.value) == sentence

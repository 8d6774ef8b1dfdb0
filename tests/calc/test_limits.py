"""A value judged against a limit: at, near and beyond its bounds, in any unit."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shopapp.calc.limits import Limit, Verdict, edges, judge, limit_in, worst
from shopapp.calc.units import Unit, convert, units_like

INFINITY = float("inf")
IN, EDGE, OUT, UNKNOWN = Verdict.IN_LIMITS, Verdict.AT_EDGE, Verdict.OUT_OF_LIMITS, Verdict.NO_LIMIT
BADNESS = {IN: 0, EDGE: 1, OUT: 2}
GAUGES = (Unit.KILOPASCAL, Unit.PSI, Unit.BAR, Unit.CELSIUS, Unit.FAHRENHEIT)
# as a gauge is read: to a tenth
figures = st.integers(0, 20_000).map(lambda tenths: tenths / 10)
some_edge = st.none() | st.integers(0, 500).map(lambda tenths: tenths / 10)


@st.composite
def limits(draw: st.DrawFn) -> Limit:
    low, high = sorted((draw(figures), draw(figures)))
    which = draw(st.sampled_from(("minimum", "maximum", "both")))
    return Limit(
        minimum=low if which != "maximum" else None,
        maximum=high if which != "minimum" else None,
        unit=draw(st.sampled_from(GAUGES)),
        edge=draw(some_edge),
    )


@pytest.mark.parametrize(
    ("value", "limit", "verdict"),
    [
        (99.9, Limit(minimum=100), OUT),
        (100, Limit(minimum=100), EDGE),
        (104.9, Limit(minimum=100), EDGE),
        (105, Limit(minimum=100), IN),
        (95.1, Limit(maximum=100), EDGE),
        (100.1, Limit(maximum=100), OUT),
        (13.5, Limit(minimum=13.5, maximum=14.5), EDGE),
        (13.6, Limit(minimum=13.5, maximum=14.5), IN),
        (14.41, Limit(minimum=13.5, maximum=14.5), EDGE),
        (14.6, Limit(minimum=13.5, maximum=14.5), OUT),
        (100, Limit(minimum=100, edge=0), IN),
        (0, Limit(maximum=0), IN),
        (-0.1, Limit(minimum=0), OUT),
        (5, Limit(minimum=5, maximum=5), IN),
        (12, None, UNKNOWN),
    ],
)
def test_verdict_against_bounds(value: float, limit: Limit | None, verdict: Verdict) -> None:
    assert judge(value, limit=limit) == verdict


@pytest.mark.parametrize(
    ("value", "unit", "verdict"),
    [
        (80, Unit.CELSIUS, EDGE),
        (78, Unit.CELSIUS, EDGE),
        (76.9, Unit.CELSIUS, IN),
        (176.1, Unit.FAHRENHEIT, OUT),
    ],
)
def test_temperature_has_degrees_for_its_edge(value: float, unit: Unit, verdict: Verdict) -> None:
    assert judge(value, unit=unit, limit=Limit(maximum=80, unit=Unit.CELSIUS)) == verdict


def test_edge_in_fahrenheit_is_as_wide_as_in_celsius() -> None:
    limit = Limit(maximum=176, unit=Unit.FAHRENHEIT)

    assert [judge(value, unit=Unit.FAHRENHEIT, limit=limit) for value in (170.5, 171)] == [IN, EDGE]


@pytest.mark.parametrize("unit", [Unit.PSI, Unit.BAR])
def test_reading_just_on_a_bound_is_inside_whatever_the_gauge(unit: Unit) -> None:
    for bound in range(1, 200):
        there = convert(bound, from_unit=Unit.KILOPASCAL, to_unit=unit)
        for limit in (Limit(minimum=bound, unit=Unit.KILOPASCAL), Limit(maximum=bound, unit=Unit.KILOPASCAL)):
            assert judge(there, unit=unit, limit=limit) == EDGE


def test_verdicts_have_words() -> None:
    assert [one.words for one in Verdict] == ["in limits", "at the edge", "out of limits", "no limit known"]


@settings(max_examples=60, deadline=None)
@given(limits(), figures, st.data())
def test_another_unit_never_changes_a_verdict(limit: Limit, value: float, data: st.DataObject) -> None:
    gauge, book = (data.draw(st.sampled_from(units_like(limit.unit))) for _ in range(2))
    shown = convert(value, from_unit=limit.unit, to_unit=gauge)

    assert judge(shown, unit=gauge, limit=limit_in(limit, unit=book)) == judge(
        value, unit=limit.unit, limit=limit
    )


@settings(max_examples=60, deadline=None)
@given(limits(), figures, figures)
def test_nearer_to_a_bound_is_never_better(limit: Limit, one: float, other: float) -> None:
    def room(value: float) -> float:
        low = -INFINITY if limit.minimum is None else limit.minimum
        high = INFINITY if limit.maximum is None else limit.maximum
        return min(value - low, high - value)

    assume(room(one) <= room(other))
    worse, better = (judge(value, unit=limit.unit, limit=limit) for value in (one, other))

    assert BADNESS[worse] >= BADNESS[better]


@given(st.lists(st.sampled_from(Verdict)))
def test_worst_is_one_of_them_and_no_better_than_any(verdicts: list[Verdict]) -> None:
    found = worst(verdicts)

    assert found in verdicts or (found == UNKNOWN and not verdicts)
    assert all(BADNESS.get(found, -1) >= BADNESS.get(one, -1) for one in verdicts)


def test_limit_is_converted_with_its_edge() -> None:
    limit = Limit(minimum=60, maximum=80, unit=Unit.CELSIUS, edge=2)

    there = limit_in(limit, unit=Unit.FAHRENHEIT)

    assert (there.minimum, there.maximum, there.edge) == pytest.approx((140, 176, 3.6))
    assert limit_in(limit, unit=Unit.CELSIUS) == limit


def test_edges_begin_where_the_verdict_changes() -> None:
    both = Limit(minimum=850, maximum=1100, unit=Unit.KILOPASCAL)

    assert edges(both) == (875, 1075)
    assert edges(Limit(maximum=80, unit=Unit.CELSIUS)) == (None, 77)
    assert edges(Limit(minimum=12.4, edge=0.2)) == (12.6, None)

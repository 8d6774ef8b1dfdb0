"""Tightening: published orders and torques, each fastener once a stage, and torques out of proportion."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.patterns import Pattern, by_the_maker, circle, grid, line, rectangle
from shopapp.calc.tightening import (
    NUT_FACTORS,
    PROOF_STRESS,
    Fastener,
    FastenerKind,
    Stage,
    StageKind,
    Surface,
    preload_of,
    rounds,
    torque_doubt,
    torque_for,
    torque_then_angle,
    usual_stages,
)
from shopapp.calc.units import Unit, convert, units_like
from tests.reference.cases import case

M10 = Fastener(diameter=10, pitch=1.5, property_class="8.8")
TORQUES = units_like(Unit.NEWTON_METRE)
sizes = st.tuples(st.integers(1, 7), st.integers(1, 7))


@st.composite
def patterns(draw: st.DrawFn) -> Pattern:
    columns, rows = draw(sizes)
    made = [circle(columns * rows), line(columns), grid(columns=columns, rows=rows)]
    if min(columns, rows) > 1:
        made.append(rectangle(columns=columns, rows=rows))
    return draw(st.sampled_from(made))


def newton_metres(figure: float, *, unit: Unit = Unit.NEWTON_METRE) -> tuple[Stage, ...]:
    return usual_stages(figure, unit=unit)


def test_torque_from_preload_is_the_published_one() -> None:
    published = case("engine_checks", "ENG-001")
    given_ = published.inputs

    torque = torque_for(given_["preload_lbf"], diameter=given_["diameter_in"], nut_factor=given_["K"])

    assert torque == pytest.approx(published.expected["torque_lbf_in"])


def test_preload_from_torque_is_the_published_one() -> None:
    published = case("engine_checks", "ENG-006")

    preload = preload_of(
        published.inputs["T"], diameter=published.inputs["D"], nut_factor=published.inputs["K"]
    )

    assert preload == pytest.approx(published.expected["P"])


def test_nut_factors_are_the_published_ones() -> None:
    published = case("engine_checks", "ENG-003")
    names = ("black", "zinc", "lubricated", "cadmium", "anti-seize")

    for name, written, factor in zip(
        names, published.inputs["condition"], published.expected["K"], strict=True
    ):
        assert name in written
        assert NUT_FACTORS[Surface(name.replace("-", "_"))] == factor


def test_flange_is_crossed_in_three_stages_then_once_round() -> None:
    published = case("engine_checks", "ENG-008")
    asked = published.inputs["stages_pct_of_target"]
    shares = [sum(stage) / len(stage) / 100 for stage in asked]

    done = rounds(
        circle(8), stages=usual_stages(80, unit=Unit.NEWTON_METRE, shares=shares, check_goes_round=True)
    )

    assert [one.stage.value for one in done] == [20, 48, 80, 80]
    crossing = [one for one in done if one.order == circle(8).order]
    assert len(crossing) >= published.expected["min_stages"]
    assert (done[-1].stage.kind, done[-1].order) == (StageKind.CHECK, (1, 2, 3, 4, 5, 6, 7, 8))


@settings(deadline=None)
@given(
    patterns(),
    st.sampled_from((newton_metres(60), torque_then_angle(30, unit=Unit.POUND_FOOT, degrees=[90]))),
)
def test_each_fastener_is_tightened_once_a_stage(pattern: Pattern, stages: tuple[Stage, ...]) -> None:
    done = rounds(pattern, stages=stages)

    numbers = [place.number for place in pattern.places]
    assert [one.stage for one in done] == list(stages)
    assert all(sorted(one.order) == numbers for one in done)
    assert numbers == list(range(1, len(numbers) + 1))
    assert all(0 <= place.x <= 1 and 0 <= place.y <= 1 for place in pattern.places)
    assert len({(place.x, place.y) for place in pattern.places}) == len(numbers)


def test_makers_own_sequence_wins() -> None:
    own = (1, 2, 3, 4, 5, 10, 9, 8, 7, 6)

    pattern = by_the_maker(grid(columns=5, rows=2), sequence=own)

    assert [one.order for one in rounds(pattern, stages=newton_metres(30))] == [own] * 3
    assert pattern.places == grid(columns=5, rows=2).places


def test_stages_rise_and_end_with_the_check() -> None:
    assert [(one.kind, one.value, one.unit) for one in newton_metres(60)] == [
        (StageKind.TORQUE, 30, Unit.NEWTON_METRE),
        (StageKind.TORQUE, 60, Unit.NEWTON_METRE),
        (StageKind.CHECK, 60, Unit.NEWTON_METRE),
    ]
    assert [
        (one.kind, one.value) for one in torque_then_angle(25, unit=Unit.POUND_FOOT, degrees=[90, 90])
    ] == [
        (StageKind.TORQUE, 25),
        (StageKind.ANGLE, 90),
        (StageKind.ANGLE, 90),
    ]


def test_proof_load_is_that_of_the_standard() -> None:
    # ISO 898-1: M10 × 1.5 of 58.0 mm², class 8.8: 33,700 N (from memory)
    assert M10.proof_load == pytest.approx(33_700, rel=2e-3)
    assert M10.proof_torque == pytest.approx(0.2 * 10 * 33_700 / 1000, rel=2e-3)


@pytest.mark.parametrize("figure", [20, 35, 50, 65])
def test_torque_in_proportion_is_not_asked_about(figure: float) -> None:
    assert torque_doubt(newton_metres(figure), fastener=M10) is None


@pytest.mark.parametrize(
    ("figure", "unit", "fits_in", "question"),
    [
        (
            50,
            Unit.POUND_INCH,
            (Unit.NEWTON_METRE,),
            "50 lbf·in is less than an M10 of class 8.8 usually gets. Is N·m meant? Look at the manual.",
        ),
        (
            400,
            Unit.NEWTON_METRE,
            (Unit.POUND_INCH,),
            "400 N·m is more than an M10 of class 8.8 usually gets. Is lbf·in meant? Look at the manual.",
        ),
        (
            55,
            Unit.POUND_FOOT,
            (Unit.NEWTON_METRE,),
            "55 lbf·ft is more than an M10 of class 8.8 usually gets. Is N·m meant? Look at the manual.",
        ),
        (
            2000,
            Unit.NEWTON_METRE,
            (),
            "2000 N·m is more than an M10 of class 8.8 usually gets. Look at the manual.",
        ),
    ],
)
def test_slip_of_the_unit_is_asked_about(
    figure: float, unit: Unit, fits_in: tuple[Unit, ...], question: str
) -> None:
    doubt = torque_doubt(newton_metres(figure, unit=unit), fastener=M10)

    assert doubt is not None
    assert set(fits_in) <= set(doubt.fits_in)
    assert doubt.question == question


@pytest.mark.parametrize("kind", [FastenerKind.PLUG, FastenerKind.IN_CASTING])
def test_plugs_and_castings_are_not_asked_about(kind: FastenerKind) -> None:
    plug = Fastener(diameter=10, pitch=1.5, property_class="8.8", kind=kind)

    assert torque_doubt(newton_metres(400), fastener=plug) is None


def test_torque_before_an_angle_is_not_asked_about() -> None:
    stages = torque_then_angle(5, unit=Unit.NEWTON_METRE, degrees=[90])

    assert torque_doubt(stages, fastener=M10) is None
    assert torque_doubt(stages[:1], fastener=M10) is not None


@settings(deadline=None)
@given(
    st.sampled_from(list(PROOF_STRESS)),
    st.sampled_from(((5, 0.8), (6, 1), (8, 1.25), (10, 1.5), (12, 1.75))),
    st.integers(1, 400),
    st.sampled_from(TORQUES),
)
def test_another_unit_asks_no_more_and_no_less(
    property_class: str, thread: tuple[float, float], figure: int, unit: Unit
) -> None:
    fastener = Fastener(diameter=thread[0], pitch=thread[1], property_class=property_class)
    there = convert(figure, from_unit=Unit.NEWTON_METRE, to_unit=unit)

    here_doubt = torque_doubt(newton_metres(figure), fastener=fastener)
    there_doubt = torque_doubt(newton_metres(there, unit=unit), fastener=fastener)

    assert (here_doubt is None) == (there_doubt is None)


@pytest.mark.parametrize("property_class", PROOF_STRESS)
def test_torque_in_proportion_in_pound_inches_is_always_caught_as_newton_metres(property_class: str) -> None:
    fastener = Fastener(diameter=8, pitch=1.25, property_class=property_class)
    right = convert(0.7 * fastener.proof_torque, from_unit=Unit.NEWTON_METRE, to_unit=Unit.POUND_INCH)

    assert torque_doubt(newton_metres(right, unit=Unit.POUND_INCH), fastener=fastener) is None
    doubt = torque_doubt(newton_metres(right), fastener=fastener)
    assert doubt is not None
    assert Unit.POUND_INCH in doubt.fits_in


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (lambda: circle(0), 'fasteners: "0" is not accepted. Give a number from 1 to 60.'),
        (lambda: line(61), 'columns: "61" is not accepted. Give a number from 1 to 60.'),
        (
            lambda: grid(columns=10, rows=7),
            'fasteners: "70" is not accepted. Give a number from 1 to 60.',
        ),
        (
            lambda: rectangle(columns=5, rows=1),
            'rows and columns: "1 × 5" is not accepted. Give two or more of each, or a line.',
        ),
        (
            lambda: by_the_maker(circle(4), sequence=[1, 2, 2, 4]),
            'maker\'s sequence: "1, 2, 2, 4" is not accepted. Give each number from 1 to 4 once.',
        ),
        (lambda: rounds(circle(4), stages=[]), 'stages: "" is not accepted. Give one stage or more.'),
        (
            lambda: usual_stages(60, unit=Unit.NEWTON_METRE, shares=[0.5, 0.4, 1]),
            'stages: "0.5, 0.4, 1" is not accepted. Give shares that rise to 1, such as 0.5, 1.',
        ),
        (
            lambda: usual_stages(float("nan"), unit=Unit.NEWTON_METRE),
            'torque: "nan" is not accepted. Give a figure above 0.',
        ),
        (
            lambda: usual_stages(60, unit=Unit.PSI),
            'unit: "psi" is not accepted. Give one of N·m, lbf·ft, lbf·in.',
        ),
        (
            lambda: torque_then_angle(30, unit=Unit.NEWTON_METRE, degrees=[400]),
            'angle: "400" is not accepted. Give degrees above 0 and up to 360.',
        ),
        (
            lambda: torque_then_angle(30, unit=Unit.NEWTON_METRE, degrees=[]),
            'angle: "" is not accepted. Give one angle or more in degrees.',
        ),
        (
            lambda: Stage(kind=StageKind.ANGLE, value=90, unit=Unit.NEWTON_METRE),
            'unit: "N·m" is not accepted. Give no unit: an angle is in degrees.',
        ),
        (
            lambda: Fastener(diameter=10, pitch=1.5, property_class="9"),
            'property class: "9" is not accepted. Give one of ' + ", ".join(PROOF_STRESS) + ".",
        ),
        (
            lambda: Fastener(diameter=10, pitch=15, property_class="8.8"),
            'pitch: "15" is not accepted. Give a pitch above 0 mm and under half of the diameter.',
        ),
        (
            lambda: torque_for(0, diameter=10, nut_factor=0.2),
            'preload: "0" is not accepted. Give a figure above 0.',
        ),
    ],
)
def test_refusal_names_field_value_and_what_is_accepted(bad: Callable[[], object], sentence: str) -> None:
    with pytest.raises(BadInput) as refused:
        bad()

    assert str(refused.value) == sentence

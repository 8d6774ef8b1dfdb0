"""Which container takes what, and how full one is: common practice, no source, but for the labels.

40 CFR 279.22 asks for closed, labelled containers of used oil; which kinds are kept apart is practice.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.fluids import Kind, Seen
from shopapp.calc.waste import Fullness, Waste, belongs_into, level_of, never_looks, takes

LOOKS = (Seen.CLEAN, Seen.MILKY, Seen.METAL, Seen.FUEL)
OIL, WATER, FUEL = Waste.USED_OIL, Waste.OILY_WATER, Waste.OILY_FUEL


@pytest.mark.parametrize(
    ("kind", "wanted"),
    [
        (Kind.GEAR_OIL, (OIL, WATER, OIL, FUEL)),
        (Kind.ENGINE_OIL, (OIL, WATER, OIL, FUEL)),
        (Kind.FUEL, (FUEL, FUEL, FUEL, FUEL)),
        (Kind.COOLANT, (Waste.COOLANT, Waste.COOLANT, Waste.COOLANT, FUEL)),
        (Kind.SOLVENT, (Waste.SOLVENT, Waste.SOLVENT, Waste.SOLVENT, FUEL)),
        (Kind.OTHER, (None, WATER, None, FUEL)),
    ],
)
def test_drained_fluid_goes_where_its_kind_belongs(kind: Kind, wanted: tuple[Waste | None, ...]) -> None:
    assert tuple(belongs_into(kind, seen=seen) for seen in LOOKS) == wanted


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("seen", LOOKS)
def test_fuel_and_solvent_never_meet_used_oil(kind: Kind, seen: Seen) -> None:
    is_apart = kind in (Kind.FUEL, Kind.SOLVENT) or seen == Seen.FUEL

    assert not (is_apart and takes(OIL, kind=kind, seen=seen))
    assert takes(Waste.SOLVENT, kind=kind, seen=seen) == (kind == Kind.SOLVENT and seen != Seen.FUEL)


def test_every_fluid_has_a_container_that_takes_it() -> None:
    for kind in Kind:
        for seen in LOOKS:
            assert any(takes(waste, kind=kind, seen=seen) for waste in Waste)


def test_looks_that_a_container_never_takes() -> None:
    assert {waste: set(never_looks(waste)) for waste in Waste} == {
        OIL: {Seen.FUEL, Seen.MILKY},
        WATER: {Seen.FUEL},
        FUEL: set(),
        Waste.COOLANT: {Seen.FUEL},
        Waste.SOLVENT: {Seen.FUEL},
        Waste.OTHER: {Seen.FUEL, Seen.MILKY},
    }


@pytest.mark.parametrize(
    ("poured", "handed_over", "ml", "fullness"),
    [
        ((), (), 0, Fullness.EMPTY),
        ((30_000, 20_000), (), 50_000, Fullness.SOME),
        ((53_999,), (), 53_999, Fullness.SOME),
        ((54_000,), (), 54_000, Fullness.NEARLY_FULL),
        ((60_000,), (), 60_000, Fullness.NEARLY_FULL),
        ((60_001,), (), 60_001, Fullness.OVER),
        ((54_000,), (54_000,), 0, Fullness.EMPTY),
        ((54_000,), (54_400,), -400, Fullness.SHORT),
    ],
)
def test_level_is_what_went_in_less_what_was_handed_over(
    poured: tuple[int, ...], handed_over: tuple[int, ...], ml: int, fullness: Fullness
) -> None:
    found = level_of(poured, handed_over_ml=handed_over, size_ml=60_000)

    assert (found.ml, found.fullness) == (ml, fullness)


@given(st.lists(st.integers(1, 9000)), st.lists(st.integers(1, 9000)))
def test_level_does_not_depend_on_the_order(poured: list[int], taken: list[int]) -> None:
    there = level_of(poured, handed_over_ml=taken, size_ml=60_000)
    back = level_of(poured[::-1], handed_over_ml=taken[::-1], size_ml=60_000)

    assert there == back

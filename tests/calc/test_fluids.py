"""Fluid changes: published mixing charts, and what came out and went in."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.fluids import (
    Ask,
    Balance,
    Change,
    Kind,
    Moved,
    Question,
    Seen,
    changes_of,
    kind_of,
    measured_within,
    mix_oil,
    point_key,
    reckon,
)
from shopapp.calc.units import Unit, convert
from shopapp.models.actuals import FluidCondition
from tests.reference.cases import case

amounts = st.integers(0, 20_000)


def gear_oil(*, drained: int, filled: int, capacity: int | None = 420, seen: Seen = Seen.CLEAN) -> Change:
    looks = () if seen == Seen.NOT_DRAINED else (seen,)
    return Change(kind=Kind.GEAR_OIL, drained_ml=drained, filled_ml=filled, capacity_ml=capacity, seen=looks)


def asked(ask: Ask, amount: int | None = None) -> Question:
    return Question(ask=ask, amount_ml=amount)


def ounces_of(gallons: float, *, ratio: float) -> float:
    fuel = convert(gallons, from_unit=Unit.US_GALLON, to_unit=Unit.US_FLUID_OUNCE)
    return mix_oil(fuel, ratio=ratio)


def test_oil_for_a_gallon_is_that_of_the_charts() -> None:
    published = case("engine_checks", "ENG-026")

    found = [ounces_of(1, ratio=ratio) for ratio in published.inputs["ratio"]]

    assert found == pytest.approx(published.expected["fl_oz_exact"])
    for ounces, printed in zip(found, published.expected["fl_oz_printed"], strict=True):
        decimals = len(printed.split(".")[1]) if printed else 0
        assert printed is None or f"{ounces:.{decimals}f}" == printed


def test_oil_for_five_litres_is_that_of_the_charts() -> None:
    published = case("engine_checks", "ENG-028")

    assert [round(mix_oil(5000, ratio=ratio)) for ratio in published.inputs["ratio"]] == published.expected[
        "ml"
    ]


def test_oil_for_a_litre_and_an_imperial_gallon_is_that_of_the_charts() -> None:
    published = case("engine_checks", "ENG-029")
    gallon = convert(1, from_unit=Unit.IMPERIAL_GALLON, to_unit=Unit.IMPERIAL_FLUID_OUNCE)
    ratios = published.inputs["ratio"]

    assert [mix_oil(1000, ratio=ratio) for ratio in ratios] == published.expected["ml_per_litre"]
    assert [mix_oil(gallon, ratio=ratio) for ratio in ratios] == pytest.approx(
        published.expected["imp_fl_oz_per_imp_gal"]
    )


def test_oil_for_a_tank_is_that_of_the_charts() -> None:
    published = case("engine_checks", "ENG-030")

    assert ounces_of(published.inputs["gallons"], ratio=published.inputs["ratio"]) == pytest.approx(
        published.expected["fl_oz"]
    )


def test_slip_of_a_chart_from_gallons_to_litres_is_not_repeated() -> None:
    published = case("engine_checks", "ENG-032")
    ounces = ounces_of(published.inputs["gallons"], ratio=published.inputs["ratio"])
    ml = convert(ounces, from_unit=Unit.US_FLUID_OUNCE, to_unit=Unit.MILLILITRE)

    assert ounces == pytest.approx(published.expected["fl_oz"])
    assert round(ml, 1) == published.expected["correct_ml"]


@pytest.mark.parametrize(
    ("change", "balance", "lost", "gained", "left", "over"),
    [
        (gear_oil(drained=420, filled=420), Balance.LEVEL, 0, 0, 0, 0),
        (gear_oil(drained=405, filled=420), Balance.LEVEL, 15, 0, 0, 0),
        (gear_oil(drained=300, filled=420), Balance.LOST, 120, 0, 0, 0),
        (gear_oil(drained=520, filled=420), Balance.GAINED, 0, 100, 0, 0),
        (gear_oil(drained=360, filled=360), Balance.LEVEL, 0, 0, 60, 0),
        (gear_oil(drained=420, filled=480), Balance.LOST, 60, 0, 0, 60),
        (gear_oil(drained=300, filled=0), Balance.LOST_OR_LEFT, None, 0, None, None),
        (gear_oil(drained=520, filled=0), Balance.GAINED, 0, 100, None, None),
        (gear_oil(drained=300, filled=0, capacity=None), Balance.UNKNOWN, None, None, None, None),
        (gear_oil(drained=300, filled=400, capacity=None), Balance.LOST, 100, 0, None, None),
        (gear_oil(drained=0, filled=100, seen=Seen.NOT_DRAINED), Balance.LOST, 100, 0, 320, 0),
    ],
)
def test_change_is_reckoned_up(
    change: Change, balance: Balance, lost: int, gained: int, left: int, over: int
) -> None:
    found = reckon(change)

    assert (found.balance, found.lost_ml, found.gained_ml, found.left_ml, found.over_ml) == (
        balance,
        lost,
        gained,
        left,
        over,
    )


@pytest.mark.parametrize(
    ("change", "questions"),
    [
        (gear_oil(drained=420, filled=420), ()),
        (
            gear_oil(drained=520, filled=420, seen=Seen.MILKY),
            (asked(Ask.MILKY), asked(Ask.GAINED, 100)),
        ),
        (
            Change(kind=Kind.ENGINE_OIL, drained_ml=4600, filled_ml=4000, seen=(Seen.FUEL, Seen.METAL)),
            (asked(Ask.FUEL), asked(Ask.METAL), asked(Ask.GAINED, 600)),
        ),
        (gear_oil(drained=300, filled=420), (asked(Ask.LOST, 120),)),
        (
            gear_oil(drained=300, filled=0, seen=Seen.METAL),
            (asked(Ask.METAL), asked(Ask.LOST_OR_LEFT, 120)),
        ),
        (gear_oil(drained=360, filled=360), (asked(Ask.LEFT, 60),)),
        (gear_oil(drained=480, filled=480), (asked(Ask.OVER, 60),)),
        (gear_oil(drained=0, filled=100, seen=Seen.NOT_DRAINED), (asked(Ask.LOST, 100),)),
        (gear_oil(drained=300, filled=0, capacity=None), ()),
    ],
)
def test_what_is_odd_is_asked(change: Change, questions: tuple[Question, ...]) -> None:
    assert reckon(change).questions == questions


@given(amounts, amounts.filter(bool), st.integers(1, 20_000))
def test_filled_to_the_mark_nothing_vanishes(drained: int, filled: int, capacity: int) -> None:
    seen = Seen.CLEAN if drained else Seen.NOT_DRAINED
    found = reckon(gear_oil(drained=drained, filled=filled, capacity=capacity, seen=seen))

    assert drained + found.lost_ml - found.gained_ml == filled
    assert filled + found.left_ml - found.over_ml == capacity
    assert 0 in {found.lost_ml, found.gained_ml}
    assert 0 in {found.left_ml, found.over_ml}


@given(amounts, st.integers(1, 20_000))
def test_more_drained_is_never_more_lost(drained: int, filled: int) -> None:
    some, more = (
        reckon(gear_oil(drained=amount, filled=filled, capacity=None))
        for amount in (drained + 1, drained + 51)
    )

    assert more.lost_ml <= some.lost_ml
    assert more.gained_ml >= some.gained_ml


def moved(drained: int, filled: int, *, seen: Seen = Seen.CLEAN, product: str = "Gear oil") -> Moved:
    look = seen if drained else Seen.NOT_DRAINED
    return Moved(point="Gearcase", product=product, drained_ml=drained, filled_ml=filled, seen=look)


@pytest.mark.parametrize(
    ("rows", "changes"),
    [
        ((), []),
        ((moved(820, 780),), [(820, 780)]),
        # drained in the morning, filled in the afternoon
        ((moved(820, 0), moved(0, 780)), [(820, 780)]),
        # two pans, one fill, and a little more after the first run
        ((moved(500, 0), moved(320, 0), moved(0, 700), moved(0, 80)), [(820, 780)]),
        # filled, run, drained again to look at it
        ((moved(820, 780), moved(780, 780)), [(820, 780), (780, 780)]),
        # only topped up, then changed all the same
        ((moved(0, 100), moved(780, 780)), [(0, 100), (780, 780)]),
    ],
)
def test_entries_of_a_point_make_its_changes(rows: tuple[Moved, ...], changes: list[tuple[int, int]]) -> None:
    found = changes_of(rows, capacity_ml=780)

    assert [(one.drained_ml, one.filled_ml) for one in found] == changes


def test_change_keeps_every_look_once() -> None:
    rows = (moved(300, 0, seen=Seen.MILKY), moved(300, 0, seen=Seen.METAL), moved(220, 780, seen=Seen.MILKY))

    assert changes_of(rows, capacity_ml=None)[0].seen == (Seen.MILKY, Seen.METAL)


@given(st.lists(st.tuples(amounts, amounts).filter(any), max_size=12))
def test_no_drop_is_lost_between_changes(rows: list[tuple[int, int]]) -> None:
    found = changes_of([moved(*one) for one in rows], capacity_ml=780)

    assert sum(one.drained_ml for one in found) == sum(drained for drained, _ in rows)
    assert sum(one.filled_ml for one in found) == sum(filled for _, filled in rows)


@pytest.mark.parametrize(
    ("point", "product", "kind"),
    [
        ("gearcase", "", Kind.GEAR_OIL),
        ("Lower unit", "80W-90", Kind.GEAR_OIL),
        ("engine", "Four-stroke oil 10W-30", Kind.ENGINE_OIL),
        ("Engine sump", "10W-30", Kind.ENGINE_OIL),
        ("Engine", "Four-stroke oil for fuel injection", Kind.ENGINE_OIL),
        ("Engine", "Coolant", Kind.COOLANT),
        ("Fuel tank", "", Kind.FUEL),
        ("Water separator", "Petrol", Kind.FUEL),
        ("", "Parts washer", Kind.SOLVENT),
        ("Trim", "Trim fluid", Kind.OTHER),
    ],
)
def test_kind_follows_from_the_words(point: str, product: str, kind: Kind) -> None:
    assert kind_of(point=point, product=product) == kind


@pytest.mark.parametrize("words", ["Gearcase", "gear case", " GEAR-CASE ", "gearcase."])
def test_one_point_has_one_key(words: str) -> None:
    assert point_key(words) == "gearcase"


def test_measuring_is_as_near_as_a_cup() -> None:
    assert [measured_within(amount) for amount in (0, 200, 420, 4000)] == [10, 10, 21, 200]


def test_conditions_are_those_that_are_stored() -> None:
    assert [one.value for one in Seen] == FluidCondition.values


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (
            lambda: gear_oil(drained=-1, filled=0),
            'drained: "-1" is not accepted. Give an amount of 0 ml or more.',
        ),
        (
            lambda: gear_oil(drained=0, filled=0),
            'drained and filled: "0" is not accepted. Give one of the two above 0 ml.',
        ),
        (
            lambda: gear_oil(drained=1, filled=1, capacity=0),
            'capacity: "0" is not accepted. Give an amount of 1 ml or more.',
        ),
        (
            lambda: gear_oil(drained=0, filled=1, seen=Seen.MILKY),
            'condition: "milky" is not accepted. Give not_drained, since nothing was drained.',
        ),
        (
            lambda: mix_oil(float("nan"), ratio=50),
            'fuel: "nan" is not accepted. Give an amount of 0 or more.',
        ),
        (
            lambda: mix_oil(5, ratio=0),
            'ratio: "0" is not accepted. Give parts of fuel to one of oil, such as 50.',
        ),
    ],
)
def test_refusal_names_field_value_and_what_is_accepted(bad: Callable[[], object], sentence: str) -> None:
    with pytest.raises(BadInput) as refused:
        bad()

    assert str(refused.value) == sentence


@pytest.mark.parametrize("amount", [0.5, float("nan")])
def test_stored_volume_is_never_a_float(amount: float) -> None:
    with pytest.raises(TypeError, match="drained: a stored volume is int, never float"):
        gear_oil(drained=amount, filled=420)

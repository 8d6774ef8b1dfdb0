"""Break-evens give equal cost; the cost per season is that of the published tables."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy_financial as npf
import pytest

from shopapp.calc.break_evens import Range, cheaper_ranges, per_season
from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import expected
from shopapp.calc.life import Season, Weibull
from shopapp.calc.options import Option, Outlook, Warranty
from tests.reference.cases import case, cases, ids

SEASON = Season(handed_over=5, first_month=5, months=6)
THREE_SEASONS = Outlook(months=36, season=SEASON)
MEND = Option(
    name="mend",
    price=640.0,
    life=Weibull(chance=0.3, shape=2.5),
    warranty=Warranty(months=3),
    follows="new",
)
NEW = Option(name="new", price=1_900.0, life=Weibull(chance=0.05, shape=1.0), warranty=Warranty(months=12))
REPLAYED = {"ECO-026", "ECO-037", "ECO-044", "ECO-046", "ECO-050", "ECO-051"}
SUMS = "a worth now or later of flows that nothing here adds up"
RETURNS = "a payback time or a rate of return, which no customer is told"
NOT_REPLAYED = {
    **dict.fromkeys(("ECO-001", "ECO-002", "ECO-004", "ECO-005", "ECO-007", "ECO-008", "ECO-010"), SUMS),
    **dict.fromkeys(("ECO-011", "ECO-013", "ECO-014", "ECO-030", "ECO-032", "ECO-036", "ECO-052"), SUMS),
    **dict.fromkeys(("ECO-016", "ECO-018", "ECO-019", "ECO-020", "ECO-022", "ECO-024"), RETURNS),
    **dict.fromkeys(("ECO-028", "ECO-048"), RETURNS),
    **dict.fromkeys(("ECO-031", "ECO-038"), "longer than an outlook, or whole units only"),
    **dict.fromkeys(("ECO-039", "ECO-042"), "a choice between contracts or years, not between repairs"),
    **dict.fromkeys(("ECO-047", "ECO-049"), "rates a month; an outlook's rate is a year's"),
}


def outlook(years: int, rate: float) -> Outlook:
    return replace(THREE_SEASONS, months=12 * years, rate=rate)


def test_every_published_case_is_replayed_or_has_its_reason() -> None:
    assert ids(cases("engineering_economics")) == REPLAYED | set(NOT_REPLAYED)


def test_cost_per_season_is_the_published_capital_recovery() -> None:
    """Of five pairs one looks at twelve years, which is longer than an outlook may be."""
    one = case("engineering_economics", "ECO-051")
    pairs = zip(one.inputs["pairs"], one.expected["A/P"], strict=True)
    published = [(rate, years, factor) for (rate, years), factor in pairs if years <= 10]
    factors = [per_season(1.0, outlook=outlook(years, rate)) for rate, years, _ in published]

    assert factors == pytest.approx([factor for *_, factor in published], abs=5e-6)
    assert len(published) == 4


@pytest.mark.parametrize("way", ["keep", "replace"])
def test_cost_per_season_of_the_published_vehicle(way: str) -> None:
    one = case("engineering_economics", "ECO-026")
    annual = per_season(
        one.expected[f"present_cost_{way}"], outlook=outlook(one.inputs["years"], one.inputs["rate"])
    )

    assert annual == pytest.approx(one.expected[f"euac_{way}"], abs=0.01)


def test_cost_per_season_of_a_single_outlay() -> None:
    one = case("engineering_economics", "ECO-037")
    annual = per_season(one.inputs["cost"], outlook=outlook(one.inputs["years"], one.inputs["rate"]))

    assert annual == pytest.approx(-one.expected["aw"], abs=0.01)


def test_cost_per_season_with_a_worth_at_the_end() -> None:
    """ECO-044 prints whole units; of ECO-046 the printed factors are wrong, and the corrected value holds."""
    for id_, beside in (("ECO-044", 0.0), ("ECO-046", 250.0)):
        given = case("engineering_economics", id_).inputs
        years, rate = given["years"], given["rate"]
        worth_today = given["cost"] - given["salvage"] * (1 + rate) ** -years
        expectation = {"ECO-044": 12_371, "ECO-046": 812.07}[id_]

        assert per_season(worth_today, outlook=outlook(years, rate)) + beside == pytest.approx(
            expectation, abs=0.2
        )


def test_uniform_present_worth_of_the_published_table() -> None:
    """One over the capital recovery factor: ECO-050, three decimals."""
    table = case("engineering_economics", "ECO-050").expected
    for rate, column in table.items():
        share = int(rate.rstrip("%")) / 100
        ours = [1 / per_season(1.0, outlook=outlook(years, share)) for years in range(1, len(column) + 1)]

        assert ours == pytest.approx(column, abs=6e-4)


@pytest.mark.parametrize(("years", "rate"), [(1, 0.02), (3, 0.08), (10, 0.15)])
def test_cost_per_season_agrees_with_numpy_financial(years: int, rate: float) -> None:
    assert per_season(1_000.0, outlook=outlook(years, rate)) == pytest.approx(-npf.pmt(rate, years, 1_000.0))


def test_cost_per_season_without_discount_is_a_share() -> None:
    assert per_season(900.0, outlook=THREE_SEASONS) == 300.0


def test_cost_per_season_needs_a_season() -> None:
    with pytest.raises(BadInput, match="above 0"):
        per_season(900.0, outlook=outlook(0, 0.0))


def costs(options: list[Option], chance: float, name: str) -> list[float]:
    tried = [
        replace(option, life=replace(option.life, chance=chance)) if option.name == name else option
        for option in options
    ]
    return [answer.total for answer in expected(tried, outlook=THREE_SEASONS).values()]


def test_break_even_put_back_gives_equal_cost_to_the_cent() -> None:
    better = replace(NEW, name="better", price=1_500.0)
    [found] = cheaper_ranges([MEND, NEW, better], outlook=THREE_SEASONS, name="mend", other="better")
    mend, _, other = costs([MEND, NEW, better], found.below, "mend")

    assert found.above == 0
    assert 0.01 < found.below < 0.99
    assert mend == pytest.approx(other, abs=0.005)


def test_break_evens_are_those_of_a_fine_scan() -> None:
    """A scan of four hundred chances by the plain solver changes sides at the same places."""
    better = replace(NEW, name="better", price=1_500.0)
    options = [MEND, NEW, better]
    chances = np.linspace(0.001, 0.999, 401)
    sides = []
    for chance in chances:
        mend, _, other = costs(options, float(chance), "mend")
        sides.append(mend < other)
    steps = pairwise(zip(chances, sides, strict=True))
    changes = [(left, right) for (left, before), (right, after) in steps if before != after]
    found = cheaper_ranges(options, outlook=THREE_SEASONS, name="mend", other="better")
    ends = [end for one in found for end in (one.above, one.below) if 0 < end < 1]

    assert len(ends) == len(changes) > 0
    assert [end for end, (left, right) in zip(ends, changes, strict=True) if not left <= end <= right] == []


def test_early_failures_are_looked_at_as_far_as_they_can_be_told() -> None:
    """At a chance near one they fail within days, where half months tell nothing; the break-even is found."""
    early = replace(MEND, life=Weibull(chance=0.3, shape=0.7))
    better = replace(NEW, name="better", price=1_500.0)
    [found] = cheaper_ranges([early, NEW, better], outlook=THREE_SEASONS, name="mend", other="better")
    mend, _, other = costs([early, NEW, better], found.below, "mend")

    assert 0 < found.below < 1
    assert mend == pytest.approx(other, abs=0.005)


def test_option_that_is_never_cheaper_has_no_range() -> None:
    dear = replace(MEND, price=5_000.0)

    assert cheaper_ranges([dear, NEW], outlook=THREE_SEASONS, name="mend", other="new") == ()


def test_option_that_is_always_cheaper_is_so_at_any_chance() -> None:
    gift = replace(MEND, price=0.0, follows="new")
    dear = replace(NEW, name="dear", price=50_000.0)

    assert cheaper_ranges([gift, NEW, dear], outlook=THREE_SEASONS, name="mend", other="dear") == (
        Range(above=0.0, below=1.0),
    )


def test_warranty_may_turn_the_curve_back() -> None:
    """Cheaper when it hardly fails, dearer between, cheaper again when it fails while covered."""
    covered = replace(MEND, name="covered", life=Weibull(chance=0.3, shape=6.0), warranty=Warranty(months=12))
    plain = Option(name="plain", price=2_584.0, life=Weibull(chance=0.001, shape=1.0))
    found = cheaper_ranges([covered, NEW, plain], outlook=THREE_SEASONS, name="covered", other="plain")
    ends = [end for one in found for end in (one.above, one.below) if 0 < end < 1]

    assert len(ends) > 1
    for end in ends:
        mine, _, other = costs([covered, NEW, plain], end, "covered")
        assert mine == pytest.approx(other, abs=0.005)


def test_life_without_a_chance_has_no_break_even() -> None:
    class Never:
        def cdf(self, age: np.ndarray) -> np.ndarray:
            return np.zeros_like(age)

    with pytest.raises(BadInput, match="made from a chance"):
        cheaper_ranges([replace(NEW, life=Never())], outlook=THREE_SEASONS, name="new", other="new")

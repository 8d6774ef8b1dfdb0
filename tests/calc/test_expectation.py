"""What options will have cost: closed forms, a simulation that shares no code, and what must not matter.

The closed forms are those of renewal theory (S. M. Ross, Introduction to Probability Models, chapter 7, from
memory); each test says which.
"""

import random
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp, floor, log1p, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import expected
from shopapp.calc.life import Clock, Floats, Life, Season, Weibull
from shopapp.calc.options import Cover, Option, Outlook, Warranty
from tests.calc.drawn import NAMES, as_options, as_outlook, drawn_ways, drawn_world
from tests.calc.lived_through import lives_through

SEASON = Season(handed_over=5, first_month=5, months=6)
YEARS = 5
PRICE, RATE_OF_FAILURE, YEARLY = 100.0, 0.7, 0.08
FORCE = log1p(YEARLY)


@dataclass(frozen=True, kw_only=True)
class ByChance:
    """The exponential distribution, of this many failures a year."""

    rate: float

    def cdf(self, age: Floats) -> Floats:
        return np.asarray(-np.expm1(-self.rate * age))

    def age_at(self, share: Floats, *, chances: Floats | None = None) -> Floats:
        raise NotImplementedError


class InTwoSteps(ByChance):
    """Erlang's distribution with two steps."""

    def cdf(self, age: Floats) -> Floats:
        return np.asarray(1 - np.exp(-self.rate * age) * (1 + self.rate * age))


class Steep(ByChance):
    def cdf(self, age: Floats) -> Floats:
        return np.asarray(-np.expm1(-((self.rate * age) ** 50)))


class Everlasting(ByChance):
    def cdf(self, age: Floats) -> Floats:
        return np.zeros_like(age)


def repair(life: Life, **changed: object) -> Option:
    return replace(Option(name="this", price=PRICE, life=life, clock=Clock.CALENDAR), **changed)


def cost(*options: Option, months: int = 12 * YEARS, cells_a_month: int = 2, **terms: float) -> float:
    """What the first option will have cost."""
    outlook = Outlook(months=months, season=SEASON, **terms)
    return expected(options, outlook=outlook, cells_a_month=cells_a_month)[options[0].name].total


def test_failures_by_chance_cost_rate_times_time() -> None:
    later = cost(repair(ByChance(rate=RATE_OF_FAILURE))) - PRICE

    assert later == pytest.approx(PRICE * RATE_OF_FAILURE * YEARS, rel=1e-3)


def test_failures_by_chance_discounted() -> None:
    later = cost(repair(ByChance(rate=RATE_OF_FAILURE)), rate=YEARLY) - PRICE

    assert later == pytest.approx(PRICE * RATE_OF_FAILURE * (1 - exp(-FORCE * YEARS)) / FORCE, rel=1e-3)


def test_one_failure_then_something_that_lasts() -> None:
    mend = repair(ByChance(rate=RATE_OF_FAILURE), price=0.0, follows="new")
    new = repair(Everlasting(rate=0), name="new")
    both = RATE_OF_FAILURE + FORCE

    assert cost(mend, new, rate=YEARLY) == pytest.approx(
        PRICE * RATE_OF_FAILURE / both * (1 - exp(-both * YEARS)), rel=1e-3
    )


def test_chain_of_two_steps() -> None:
    """Failures at rate a, then at rate b, then no more: the second comes after both times."""
    first, second = 0.4, 1.1
    chain = [
        repair(ByChance(rate=first), price=0.0, follows="better"),
        repair(ByChance(rate=second), name="better", price=30.0, follows="best"),
        repair(Everlasting(rate=0), name="best", price=70.0),
    ]
    once = 1 - exp(-first * YEARS)
    twice = 1 - (second * exp(-first * YEARS) - first * exp(-second * YEARS)) / (second - first)

    assert cost(*chain) == pytest.approx(30 * once + 70 * twice, rel=1e-3)


def test_warranty_that_covers_every_failure_of_its_months() -> None:
    """price·λ·(T − W) + D·λ·T: all failures inside are covered, and what is paid for later has no cover."""
    covered = repair(
        ByChance(rate=RATE_OF_FAILURE),
        days=2.0,
        follows="later",
        warranty=Warranty(months=18, cover=Cover.ALL),
    )
    later = repair(ByChance(rate=RATE_OF_FAILURE), name="later", days=2.0)
    days = 2 * 10.0

    assert cost(covered, later, lost_day=10.0) - PRICE - days == pytest.approx(
        PRICE * RATE_OF_FAILURE * (YEARS - 1.5) + days * RATE_OF_FAILURE * YEARS, rel=1e-3
    )


def test_renewing_cover_pays_for_all_that_fail_within_it() -> None:
    """A failure within a year of the last one is covered, any other is paid for and covered anew.

    Each is paid for with the chance e^(−λW) that no failure came in the W before it; in the first W after
    hand-over none is. So price·e^(−λW)·λ·(T − W).
    """
    renewing = repair(ByChance(rate=RATE_OF_FAILURE), warranty=Warranty(months=12, cover=Cover.RENEWING))

    assert cost(renewing) - PRICE == pytest.approx(
        PRICE * exp(-RATE_OF_FAILURE) * RATE_OF_FAILURE * (YEARS - 1), rel=1e-3
    )


def test_renewal_function_of_two_steps() -> None:
    a, years = RATE_OF_FAILURE, YEARS

    assert cost(repair(InTwoSteps(rate=a))) / PRICE - 1 == pytest.approx(
        a * years / 2 - 1 / 4 + exp(-2 * a * years) / 4, rel=1e-3
    )


@pytest.mark.parametrize("lasts", [0.8, 1.2, 2.3, 4.4])
def test_steep_wear_out_counts_whole_lives(lasts: float) -> None:
    """Weibull's shape 50 puts nearly every failure at its scale; not where YEARS is near a multiple of it."""
    steep = Steep(rate=1 / lasts)

    assert cost(repair(steep)) / PRICE - 1 == pytest.approx(floor(YEARS / lasts), abs=0.01)


@settings(max_examples=25, deadline=None)
@given(chance=st.floats(0.01, 0.9), shape=st.floats(1.0, 8.0))
def test_wear_out_renews_between_first_failures_and_hazard(chance: float, shape: float) -> None:
    """F ≤ M ≤ H for a rising hazard (R. E. Barlow and F. Proschan, 1965, from memory)."""
    life = Weibull(chance=chance, shape=shape)
    renewals = cost(repair(life)) / PRICE - 1
    at_the_end = np.array([float(YEARS)])

    assert float(life.cdf(at_the_end)[0]) <= renewals * 1.001
    assert renewals <= (YEARS / life.scale) ** shape * 1.001


# --- the simulation -----------------------------------------------------------------------------------


def standard_score(seed: int, boats: int) -> float:
    """How far the mean of so many boats lies from the expectation, in standard errors."""
    dice = random.Random(seed)
    ways, world = drawn_ways(dice), drawn_world(dice)
    paid = [lives_through(ways, "first", world, dice) for _ in range(boats)]
    mean = sum(paid) / boats
    spread = sqrt(sum((one - mean) ** 2 for one in paid) / (boats - 1))
    calculated = expected(as_options(ways), outlook=as_outlook(world))["first"].total
    # the grid itself may be a thousandth off
    return float((mean - calculated) / (spread / sqrt(boats) + 2e-4 * abs(mean) + 1e-9))


def agrees(*, comparisons: int, boats: int) -> None:
    """The sum of squared scores is about chi-square: mean n, variance 2n; five deviations are let through."""
    scores = [standard_score(seed, boats) for seed in range(comparisons)]
    total = sum(score**2 for score in scores)

    assert max(abs(score) for score in scores) < 5
    assert total < comparisons + 5 * sqrt(2 * comparisons)


def test_agrees_with_boats_that_lived_through_it() -> None:
    agrees(comparisons=40, boats=300)


@pytest.mark.soak
def test_agrees_with_boats_that_lived_through_it_in_two_hundred_comparisons() -> None:
    agrees(comparisons=200, boats=10_000)


# --- what must not matter, and what must ---------------------------------------------------------------


def moved_by_halving(dice: random.Random, most: float) -> float:
    """The greatest move of a result, as a share of it or of the dearest price, whichever is more."""
    ways = {name: replace(way, chance=min(way.chance, most)) for name, way in drawn_ways(dice).items()}
    options, outlook = as_options(ways), as_outlook(drawn_world(dice))
    whole, half = (expected(options, outlook=outlook, cells_a_month=cells) for cells in (2, 4))
    price = max(way.price for way in ways.values())
    return max(
        abs(whole[name].total - half[name].total) / max(abs(half[name].total), price, 1) for name in NAMES
    )


@pytest.mark.parametrize(("most", "moves"), [(0.25, 1e-3), (0.5, 3e-3)])
def test_halving_the_grid_moves_nothing_by_a_thousandth(most: float, moves: float) -> None:
    """Up to one in four a season; up to a half it is three thousandths, with seasons of three months."""
    dice = random.Random(11)

    assert max(moved_by_halving(dice, most) for _ in range(40)) <= moves


def test_horizon_of_nil_gives_the_price() -> None:
    assert cost(repair(ByChance(rate=3)), months=0) == PRICE


def test_resale_comes_off_while_it_lasts_and_is_discounted() -> None:
    lasting = repair(Everlasting(rate=0), resale=60.0)
    failing = repair(ByChance(rate=RATE_OF_FAILURE), resale=60.0, follows="after")
    after = repair(Everlasting(rate=0), name="after", price=0.0)

    assert cost(lasting, rate=YEARLY) == pytest.approx(PRICE - 60 * (1 + YEARLY) ** -YEARS)
    assert cost(failing, after) == pytest.approx(PRICE - 60 * exp(-RATE_OF_FAILURE * YEARS))


def test_redos_are_counted_with_what_the_customer_pays_of_them() -> None:
    warranty = Warranty(months=12, left_out=40.0)
    answer = expected(
        [repair(ByChance(rate=RATE_OF_FAILURE), warranty=warranty)],
        outlook=Outlook(months=60, season=SEASON),
    )["this"]

    assert answer.redos == pytest.approx(1 - exp(-RATE_OF_FAILURE))
    assert answer.paid_of_redos == pytest.approx(40 * (1 - exp(-RATE_OF_FAILURE)))


def test_redos_under_renewing_cover_go_on() -> None:
    """Short of the horizon the expected number of redos in a row is geometric: q/(1 − q)."""
    warranty = Warranty(months=3, cover=Cover.RENEWING)
    answer = expected(
        [
            repair(ByChance(rate=RATE_OF_FAILURE), warranty=warranty, follows="end"),
            repair(Everlasting(rate=0), name="end"),
        ],
        outlook=Outlook(months=120, season=SEASON),
    )["this"]
    caught = 1 - exp(-RATE_OF_FAILURE / 4)

    assert answer.redos == pytest.approx(caught / (1 - caught), rel=2e-3)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10**9))
def test_higher_chance_never_costs_less_where_nothing_is_under_warranty(seed: int) -> None:
    """True for the same again at one price: more failures are more bills. A better follower may turn it."""
    dice = random.Random(seed)
    outlook = replace(as_outlook(drawn_world(dice)), rate=0.0)
    shape, price = dice.choice([0.7, 1.0, 2.5]), dice.uniform(1, 2_000)
    costs = [
        expected(
            [Option(name="this", price=price, life=Weibull(chance=chance, shape=shape))], outlook=outlook
        )["this"].total
        for chance in (0.02, 0.1, 0.3, 0.6, 0.9)
    ]

    assert all(after >= before - 1e-9 for before, after in pairwise(costs))


@settings(max_examples=30, deadline=None)
@given(chance=st.floats(0.02, 0.9), cover=st.sampled_from(Cover))
def test_longer_warranty_never_costs_more_where_the_same_follows(chance: float, cover: Cover) -> None:
    life = Weibull(chance=chance, shape=1.0)
    costs = [cost(repair(life, warranty=Warranty(months=months, cover=cover))) for months in (0, 3, 12, 36)]

    assert all(after <= before + 1e-9 for before, after in pairwise(costs))


def test_repair_that_never_lasts_is_refused() -> None:
    hopeless = Option(name="this", price=1.0, life=Weibull(chance=0.999_999, shape=0.3))

    with pytest.raises(BadInput, match="more than half of them last"):
        expected([hopeless], outlook=Outlook(months=120, season=SEASON))


def test_more_redos_than_anybody_makes_are_refused() -> None:
    hopeless = repair(ByChance(rate=14), warranty=Warranty(months=120, cover=Cover.ALL))

    with pytest.raises(BadInput, match="lasts for a while"):
        expected([hopeless], outlook=Outlook(months=120, season=SEASON))

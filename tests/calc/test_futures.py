"""Spread over thousands of boats: against boats that lived through it in plain Python, and its average."""

import random
from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from scipy.stats import beta, ks_2samp

from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import expected
from shopapp.calc.futures import Draw, futures
from shopapp.calc.life import Clock, Season, Weibull
from shopapp.calc.options import Cover, Option, Outlook, Warranty
from shopapp.calc.record import Belief
from tests.calc.drawn import as_options, as_outlook, drawn_ways, drawn_world
from tests.calc.lived_through import lives_through

SEASON = Season(handed_over=5, first_month=5, months=5)
OUTLOOK = Outlook(months=36, season=SEASON)
MEND = Option(name="mend", price=640, life=Weibull(chance=0.3, shape=1.0), follows="new")
NEW = Option(name="new", price=1900, life=Weibull(chance=0.05, shape=2.5), warranty=Warranty(months=12))


@pytest.mark.parametrize("seed", range(12))
def test_bills_are_spread_as_those_of_boats_that_lived_through_it(seed: int) -> None:
    dice = random.Random(seed)
    ways, world = drawn_ways(dice), drawn_world(dice)
    lived = [lives_through(ways, "first", world, dice) for _ in range(1_500)]

    drawn = futures(as_options(ways), outlook=as_outlook(world), beliefs={}, draw=Draw(futures=20_000))

    # two-sample test of Kolmogorov and Smirnov; one seed in fifty thousand would fail by luck
    assert ks_2samp(np.round(lived, 6), np.round(drawn["first"], 6)).pvalue > 2e-5


@pytest.mark.parametrize("seed", range(30))
def test_average_is_the_expectation(seed: int) -> None:
    dice = random.Random(1_000 + seed)
    ways, world = drawn_ways(dice), drawn_world(dice)
    options, outlook = as_options(ways), as_outlook(world)

    drawn, calculated = futures(options, outlook=outlook, beliefs={}), expected(options, outlook=outlook)

    for name, paid in drawn.items():
        error = paid.std() / sqrt(len(paid))
        # the grid of the expectation may itself be a few thousandths off
        assert abs(paid.mean() - calculated[name].total) < 5 * error + 3e-3 * abs(calculated[name].total)


def test_chance_drawn_from_a_belief_mixes_the_expectations_of_all_chances() -> None:
    belief = Belief(alpha=2.4, beta=5.6)
    shares = (np.arange(200) + 0.5) / 200
    mixed = np.mean(
        [
            expected([replace(MEND, life=Weibull(chance=float(chance), shape=1.0)), NEW], outlook=OUTLOOK)[
                "mend"
            ].total
            for chance in beta.ppf(shares, belief.alpha, belief.beta)
        ]
    )

    paid = futures([MEND, NEW], outlook=OUTLOOK, beliefs={"mend": belief})["mend"]

    assert abs(paid.mean() - mixed) < 5 * paid.std() / sqrt(len(paid))


def test_same_seed_gives_the_same_bills_and_another_does_not() -> None:
    first, again, other = (
        futures([MEND, NEW], outlook=OUTLOOK, beliefs={}, draw=Draw(seed=seed))["mend"] for seed in (1, 1, 2)
    )

    assert (first == again).all()
    assert (first != other).any()


def test_a_boat_has_the_same_luck_whichever_option_is_taken() -> None:
    twin = replace(MEND, name="twin")

    drawn = futures([MEND, twin, NEW], outlook=OUTLOOK, beliefs={})

    assert (drawn["mend"] == drawn["twin"]).all()


def test_horizon_of_nil_gives_the_price() -> None:
    drawn = futures([MEND, NEW], outlook=replace(OUTLOOK, months=0), beliefs={})

    assert set(drawn["mend"]) == {640}
    assert set(drawn["new"]) == {1900}


def test_nothing_fails_while_the_boat_is_laid_up() -> None:
    winter = replace(OUTLOOK, months=4, season=Season(handed_over=10, first_month=5, months=5))

    assert set(futures([MEND, NEW], outlook=winter, beliefs={})["mend"]) == {640}


def test_more_repairs_than_anybody_pays_for_are_refused() -> None:
    hopeless = replace(MEND, life=Weibull(chance=0.999_999, shape=0.3), follows=None, clock=Clock.CALENDAR)

    with pytest.raises(BadInput, match="chances at which repairs last"):
        futures([hopeless], outlook=replace(OUTLOOK, months=120), beliefs={})


def test_extreme_beliefs_give_numbers() -> None:
    renewing = replace(NEW, warranty=Warranty(months=12, cover=Cover.RENEWING, pro_rata=True))
    beliefs = {"mend": Belief(alpha=1e-3, beta=1e3), "new": Belief(alpha=0.02, beta=8)}

    drawn = futures([replace(MEND, resale=100), renewing], outlook=OUTLOOK, beliefs=beliefs)

    assert all(np.isfinite(paid).all() for paid in drawn.values())


def test_no_boats_are_refused() -> None:
    with pytest.raises(BadInput, match="number of futures"):
        Draw(futures=0)

"""Options weighed against each other: the two bills, who wins and how surely, and what the shop is in for."""

import random
from dataclasses import replace

import pytest

from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import Expected, expected
from shopapp.calc.life import Clock, Fails, Season, Weibull
from shopapp.calc.options import Option, Outlook, Warranty
from shopapp.calc.weighing import Failure, exposure, fails_in_first_season, weigh
from tests.calc.drawn import as_options, as_outlook, drawn_ways, drawn_world
from tests.calc.lived_through import lives_through

SEASON = Season(handed_over=5, first_month=5, months=5)
OUTLOOK = Outlook(months=36, season=SEASON)
MEND = Option(
    name="mend", price=640, life=Weibull(chance=0.3, shape=1.0), days=3, follows="new", lost_core=50
)
NEW = Option(name="new", price=1900, life=Weibull(chance=0.05, shape=2.5), days=21)
LEAVE = Option(name="leave", price=0, life=Weibull(chance=0.9, shape=1.0), follows="leave")


def test_second_bill_is_what_follows_with_its_days() -> None:
    failure = fails_in_first_season(MEND, following=NEW, outlook=replace(OUTLOOK, tow=120))

    assert failure == Failure(name="new", is_covered=False, bill=50 + 1900 + 120, days=21)


@pytest.mark.parametrize(
    ("warranty", "bill"),
    [
        (Warranty(months=12), 80),
        (Warranty(months=12, left_out=110), 80 + 110),
        # a season is 12 of 24 months: half of the price
        (Warranty(months=24, pro_rata=True), 80 + 950),
        # five months of running are a season where laid-up months don't count
        (Warranty(months=5, laid_up_counts=False), 80),
        (Warranty(months=10, laid_up_counts=False, pro_rata=True), 80 + 950),
    ],
)
def test_second_bill_under_warranty_is_what_cover_leaves_out(warranty: Warranty, bill: float) -> None:
    option = replace(NEW, warranty=warranty, damage=80)

    failure = fails_in_first_season(option, following=option, outlook=OUTLOOK)

    assert failure == Failure(name="new", is_covered=True, bill=pytest.approx(bill), days=21)


def test_second_bill_after_a_warranty_shorter_than_the_season() -> None:
    option = replace(MEND, warranty=Warranty(months=3))

    assert not fails_in_first_season(option, following=NEW, outlook=OUTLOOK).is_covered


def test_exposure_is_redos_at_cost_less_what_the_customer_pays_without_tax() -> None:
    answer = Expected(total=0, redos=0.25, paid_of_redos=46)

    assert exposure(answer, cost=800, untaxed=1 / 1.15) == pytest.approx(0.25 * 800 - 40)


def test_cheapest_on_average_is_the_one_whose_boats_paid_least() -> None:
    """Against plain boats: where one is clearly cheaper, the comparison names it."""
    told = 0
    for seed in range(12):
        dice = random.Random(seed)
        ways, world = drawn_ways(dice), drawn_world(dice)
        paid = {name: sum(lives_through(ways, name, world, dice) for _ in range(400)) / 400 for name in ways}
        best, second = sorted(paid, key=lambda name: paid[name])[:2]
        if paid[second] - paid[best] < 0.2 * abs(paid[second]):
            continue
        told += 1
        options = as_options(ways)
        comparison = weigh(options, outlook=as_outlook(world), beliefs={}, may_win=set(ways))
        assert comparison.cheapest == best
    assert told >= 4


def test_unsure_when_another_shape_has_another_winner() -> None:
    """Once a season at 1 in 4 by chance against a unit that wears out: asked of the expectation by hand."""
    options = [replace(MEND, price=500), replace(NEW, price=760)]

    def winner(shape: float) -> str:
        shaped = [
            replace(option, life=Weibull(chance=chance, shape=shape))
            for option, chance in zip(options, (0.3, 0.05), strict=True)
        ]
        answers = expected(shaped, outlook=OUTLOOK)
        return min(answers, key=lambda name: answers[name].total)

    winners = {winner(fails.value) for fails in Fails}
    comparison = weigh(options, outlook=OUTLOOK, beliefs={}, may_win={"mend", "new"})

    assert comparison.is_unsure == (winners != {comparison.cheapest})


@pytest.mark.parametrize(("price", "is_unsure"), [(1900, False), (900, True), (640, False)])
def test_how_sure_depends_on_how_close_they_are(price: float, is_unsure: bool) -> None:
    options = [MEND, replace(NEW, price=price)]

    assert weigh(options, outlook=OUTLOOK, beliefs={}, may_win={"mend", "new"}).is_unsure == is_unsure


def test_what_may_not_win_is_weighed_but_never_called_cheapest() -> None:
    comparison = weigh([LEAVE, MEND, NEW], outlook=OUTLOOK, beliefs={}, may_win={"mend", "new"})

    assert comparison.options["leave"].expected.total == 0
    assert comparison.cheapest == "mend"
    assert (comparison.first, comparison.rival) == ("mend", "new")


def test_chance_at_which_it_stops_being_cheaper_gives_equal_cost() -> None:
    comparison = weigh([MEND, NEW], outlook=OUTLOOK, beliefs={}, may_win={"mend", "new"})
    (known,) = comparison.stays_cheaper

    at_it = replace(MEND, life=Weibull(chance=known.below, shape=1.0))
    answers = expected([at_it, NEW], outlook=OUTLOOK)

    assert known.above == 0
    assert answers["mend"].total == pytest.approx(answers["new"].total, abs=0.005)


def test_one_option_has_nobody_to_be_compared_with() -> None:
    comparison = weigh([NEW], outlook=OUTLOOK, beliefs={}, may_win={"new"})

    assert (comparison.cheapest, comparison.rival, comparison.stays_cheaper) == ("new", "", ())
    assert not comparison.is_unsure


def test_four_boats_of_five_end_between_low_and_high() -> None:
    """A failure in one of four boats within the horizon doubles the bill of a fifth and more."""
    option = Option(
        name="once", price=100, life=Weibull(chance=0.25, shape=1.0), clock=Clock.CALENDAR, follows="good"
    )
    good = replace(NEW, name="good", price=300, life=Weibull(chance=1e-9, shape=1.0))

    weighed = weigh(
        [option, good], outlook=replace(OUTLOOK, months=12), beliefs={}, may_win={"once", "good"}
    ).options["once"]

    assert (weighed.low, weighed.high) == (100, 400)
    assert weighed.per_season == pytest.approx(weighed.expected.total)


def test_horizon_of_nil_is_refused() -> None:
    with pytest.raises(BadInput, match="months to look at"):
        weigh([MEND, NEW], outlook=replace(OUTLOOK, months=0), beliefs={}, may_win={"mend"})

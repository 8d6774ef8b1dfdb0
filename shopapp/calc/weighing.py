"""The ways of putting a fault right weighed against each other: bills, averages, spread, how sure that is.

All of it is float and in units of the currency: it advises, and is never an amount on a document.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shopapp.calc.break_evens import Range, cheaper_ranges, per_season
from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import CELLS_A_MONTH, Expected, expected, solved
from shopapp.calc.futures import futures
from shopapp.calc.life import Fails, Weibull
from shopapp.calc.options import Option, Outlook, by_name
from shopapp.calc.record import Belief

MONTHS_A_YEAR = 12
# nine boats of ten pay no more, one of ten pays no more than the other
LOW, HIGH = 0.1, 0.9
COARSE = 1


@dataclass(frozen=True, kw_only=True)
class Failure:
    """What a failure within the first season costs the customer beside the price, and days without the boat.

    `is_covered`: done again under the warranty, which lasts all of that season; else after it has run out,
    or without one, what follows is done at its price. `name` is what is done then.
    """

    name: str
    is_covered: bool
    bill: float
    days: float


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """One option: its expectation, the same for each season, between which totals four boats of five end."""

    expected: Expected
    per_season: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """The options by their names; `cheapest` on average at the horizon, and whether every shape says so.

    `stays_cheaper` tells at which chances of its own failure `first`, the cheapest today, also is on average
    cheaper than `rival`, the best of the others; both are empty where there are no two to compare.
    """

    options: Mapping[str, Weighed]
    cheapest: str
    is_unsure: bool
    first: str
    rival: str
    stays_cheaper: tuple[Range, ...]


def fails_in_first_season(option: Option, *, following: Option, outlook: Outlook) -> Failure:
    """The second of the two real bills: the dearest that a failure within the first season may come to.

    Nothing is discounted and no lost day priced. Pro rata: as if it failed at the season's end.
    """
    warranty = option.warranty
    used = MONTHS_A_YEAR
    if not warranty.laid_up_counts:
        used = outlook.season.months
    beside = option.damage + outlook.tow
    if warranty.months >= used:
        share = used / warranty.months if warranty.pro_rata else 0.0
        bill = beside + warranty.left_out + option.price * share
        return Failure(name=option.name, is_covered=True, bill=bill, days=option.days)
    bill = beside + option.lost_core + following.price
    return Failure(name=following.name, is_covered=False, bill=bill, days=following.days)


def exposure(answer: Expected, *, cost: float, untaxed: float) -> float:
    """What honouring the warranty of an option costs the shop on average, without tax.

    `cost`: of one redo; `untaxed`: the share of what the customer pays that is not tax.
    """
    return answer.redos * cost - answer.paid_of_redos * untaxed


def weigh(
    options: Sequence[Option],
    *,
    outlook: Outlook,
    beliefs: Mapping[str, Belief],
    may_win: Collection[str],
) -> Comparison:
    """All there is to say of at least one option; only those of `may_win` are called cheapest.

    Raises:
        BadInput: as `expectation.expected` and `futures.futures`; a horizon of nil.
    """
    known = solved(options, outlook=outlook)
    answers = known.answers
    cheapest = _cheapest(answers, may_win)
    first, rival = _pair(options, answers, may_win)
    return Comparison(
        options=_weighed(options, answers, outlook=outlook, beliefs=beliefs),
        cheapest=cheapest,
        is_unsure=any(
            not _wins(cheapest, same, outlook=outlook, may_win=may_win) for same in _of_one_shape(options)
        ),
        first=first,
        rival=rival,
        stays_cheaper=cheaper_ranges(options, outlook=outlook, name=first, other=rival, known=known)
        if rival
        else (),
    )


def paid_by(options: Sequence[Option], *, outlook: Outlook, months: Sequence[int]) -> dict[str, list[float]]:
    """What each option will have cost on average by each of these months, for a line over time.

    Raises:
        BadInput: as `expectation.expected`.
    """
    by_then = [expected(options, outlook=replace(outlook, months=month)) for month in months]
    return {option.name: [answers[option.name].total for answers in by_then] for option in options}


def _weighed(
    options: Sequence[Option],
    answers: Mapping[str, Expected],
    *,
    outlook: Outlook,
    beliefs: Mapping[str, Belief],
) -> dict[str, Weighed]:
    drawn = futures(options, outlook=outlook, beliefs=beliefs)
    weighed = {}
    for name, answer in answers.items():
        low, high = np.quantile(drawn[name], (LOW, HIGH))
        weighed[name] = Weighed(
            expected=answer,
            per_season=per_season(answer.total, outlook=outlook),
            low=float(low),
            high=float(high),
        )
    return weighed


def _cheapest(answers: Mapping[str, Expected], may_win: Collection[str]) -> str:
    return min((name for name in answers if name in may_win), key=lambda name: answers[name].total)


def _wins(name: str, options: Sequence[Option], *, outlook: Outlook, may_win: Collection[str]) -> bool:
    """Whether it is cheapest on average; not where these lives are too short for any grid to tell.

    Which one is cheaper, not by how much: whole months are fine enough, where they can tell lives apart.
    """
    for cells_a_month in (COARSE, CELLS_A_MONTH):
        try:
            answers = expected(options, outlook=outlook, cells_a_month=cells_a_month)
        except BadInput:
            continue
        return _cheapest(answers, may_win) == name
    return False


def _of_one_shape(options: Sequence[Option]) -> list[list[Option]]:
    """The options as if all failed early, by chance, or by wear: the answer for the other shapes."""
    return [[_shaped(option, fails.value) for option in options] for fails in Fails]


def _shaped(option: Option, shape: float) -> Option:
    life = option.life
    return replace(option, life=replace(life, shape=shape)) if isinstance(life, Weibull) else option


def _pair(
    options: Sequence[Option], answers: Mapping[str, Expected], may_win: Collection[str]
) -> tuple[str, str]:
    """The cheapest today, and the one of the others that is cheapest on average."""
    named = by_name(options)
    able = [name for name in named if name in may_win]
    first = min(able, key=lambda name: named[name].price)
    others = [name for name in able if name != first]
    return first, min(others, key=lambda name: answers[name].total, default="")

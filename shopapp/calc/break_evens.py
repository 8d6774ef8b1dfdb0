"""At which chances one option costs less than another, and what a cost is worth per season."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib import import_module

import numpy as np

from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import Solved, answer, solved
from shopapp.calc.life import Floats, Weibull
from shopapp.calc.options import Option, Outlook, last_first, reachable

# close where a mechanic tells chances apart; each costs as much as a comparison
SCAN = np.array([0.001, 0.01, 0.03, 0.06, 0.1, 0.15, *np.arange(2, 10) / 10, 0.95, 0.99, 0.999])


def per_season(total: float, *, outlook: Outlook) -> float:
    """The same amount at the end of each season that is worth as much as `total` today (capital recovery).

    A = P · i / (1 − (1 + i)^−n), and P / n where i is nil. Source: NIST Handbook 135, 3.2 (from memory).

    Raises:
        BadInput: a horizon of nil, in which there is no season.
    """
    if outlook.months == 0:
        raise BadInput("months to look at", outlook.months, "a number of months above 0")
    if outlook.rate == 0:
        return total / outlook.seasons
    return float(total * outlook.rate / -np.expm1(-outlook.seasons * np.log1p(outlook.rate)))


@dataclass(frozen=True, kw_only=True)
class Range:
    """Chances a season at which an option costs less than another, from `above` to `below`."""

    above: float
    below: float


def cheaper_ranges(
    options: Sequence[Option], *, outlook: Outlook, name: str, other: str, known: Solved | None = None
) -> tuple[Range, ...]:
    """At which chances of its own failure within a season option `name` costs less than `other`.

    None, one or several; with a warranty the curve may turn back. A range from 0 or up to 1 has no break-even
    at that end; every other end is one. Searched at the chances of `SCAN`, so two break-evens between
    neighbours of it may be missed; it ends where repairs last too shortly for the grid. `known`: the same
    options, solved already.

    Raises:
        BadInput: as `expected`; or the life of `name` is not made from a chance.
    """
    known = known or solved(options, outlook=outlook)
    named, grid = known.named, known.grid
    life = named[name].life
    if not isinstance(life, Weibull):
        raise BadInput("life", name, "a life that is made from a chance and a shape")

    needed = reachable(name, named=named) | reachable(other, named=named)
    ordered = [option.name for option in last_first(named) if option.name in needed]
    touched = [one for one in ordered if name in reachable(one, named=named)]
    values, answers = dict(known.values), dict(known.answers)

    def dearer(chance: float) -> float:
        tried = {**named, name: replace(named[name], life=replace(life, chance=chance))}
        for one in touched:
            answers[one] = answer(tried[one], named=tried, grid=grid, values=values)
        return answers[name].total - answers[other].total

    tried = (replace(named[name], life=replace(life, chance=float(chance))) for chance in SCAN)
    return _below_nil(dearer, SCAN[: sum(grid.resolves(option) for option in tried)])


def prepare() -> None:
    """Load what finds break-evens, which takes half a second once: before a transaction, not within it."""
    import_module("scipy.optimize")


def _below_nil(function: Callable[[float], float], scan: Floats) -> tuple[Range, ...]:
    # not before a break-even is asked for: half a second that no other page pays
    brentq = import_module("scipy.optimize").brentq
    found = [function(float(chance)) for chance in scan]
    ends = [0.0] if found[0] < 0 else []
    for left, right, before, after in zip(scan, scan[1:], found, found[1:], strict=False):
        if (before < 0) != (after < 0):
            ends.append(brentq(function, float(left), float(right), xtol=1e-12, rtol=1e-12))
    if found[-1] < 0:
        ends.append(1.0)
    return tuple(Range(above=above, below=below) for above, below in zip(ends[::2], ends[1::2], strict=True))

"""Boats that live through their repairs one after another, in plain Python: a second opinion.

It shares no code with the calculation: own clock, own quantile, own rule for the cover. Amounts are in units
of the currency, times in months since hand-over.
"""

import math
import random
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way of putting a fault right, as plain figures."""

    price: float
    chance: float
    shape: float
    by_use: bool
    days: float
    months: int
    left_out: float
    pro_rata: bool
    laid_up_counts: bool
    cover: str
    follows: str
    damage: float
    lost_core: float
    resale: float


@dataclass(frozen=True, kw_only=True)
class World:
    """The terms of the comparison."""

    months: int
    season: frozenset[int]  # months of the year, 1 to 12
    handed_over: int
    rate: float
    lost_day: float
    tow: float


def _runs(month: int, world: World) -> bool:
    return (world.handed_over - 1 + month) % 12 + 1 in world.season


def _moved_on(start: float, run: float, world: World) -> float:
    """The moment at which `run` months of running have passed since `start`."""
    now = start
    while now < world.months:
        end = math.floor(now) + 1
        if _runs(math.floor(now), world):
            if run <= end - now:
                return now + run
            run -= end - now
        now = end
    return math.inf


def _run_between(start: float, end: float, world: World) -> float:
    total, now = 0.0, start
    while now < end:
        step = min(math.floor(now) + 1, end)
        total += (step - now) if _runs(math.floor(now), world) else 0
        now = step
    return total


def _fails_at(way: Way, start: float, world: World, dice: random.Random) -> float:
    scale = (-math.log1p(-way.chance)) ** (-1 / way.shape)
    age = scale * (-math.log(1 - dice.random())) ** (1 / way.shape)
    if way.by_use:
        return _moved_on(start, age * len(world.season), world)
    return start + age * 12


def _under_cover(way: Way, since: float, now: float, world: World) -> float | None:
    """The share of its cover that has passed, or nothing outside it."""
    passed = now - since if way.laid_up_counts else _run_between(since, now, world)
    return passed / way.months if way.months and passed <= way.months else None


def lives_through(ways: dict[str, Way], name: str, world: World, dice: random.Random) -> float:
    """What one boat's owner will have paid by the horizon, discounted to hand-over."""

    def worth_today(amount: float, at: float) -> float:
        return amount * (1 + world.rate) ** (-at / 12)

    way = ways[name]
    paid = way.price + way.days * world.lost_day
    fitted = covered_since = 0.0
    redone = False
    while (now := _fails_at(way, fitted, world, dice)) < world.months:
        passed = _under_cover(way, covered_since, now, world)
        bill = way.damage + world.tow
        if passed is not None and not (way.cover == "first" and redone):
            bill += way.left_out + (way.price * passed if way.pro_rata else 0) + way.days * world.lost_day
            redone = True
            if way.cover == "renewing":
                covered_since = now
        else:
            bill += way.lost_core
            way = ways[way.follows]
            bill += way.price + way.days * world.lost_day
            covered_since, redone = now, False
        paid += worth_today(bill, now)
        fitted = now
    return paid - worth_today(way.resale, world.months)

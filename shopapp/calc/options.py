"""The ways of putting a fault right as their economics see them: price, life, cover, and what comes after.

All of it is float and in units of the currency: it advises, and is never an amount on a document.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from shopapp.calc.errors import BadInput
from shopapp.calc.life import Clock, Life, Season

# months: longer than anybody keeps count
LONGEST = 120


class Cover(StrEnum):
    """Which failures inside the months of a warranty are put right under it."""

    FIRST = "first"  # one redo; its months run out with the original repair
    ALL = "all"  # every failure until the months of the original repair have run out
    RENEWING = "renewing"  # every failure, and the months start again with each redo


@dataclass(frozen=True, kw_only=True)
class Warranty:
    """Months of cover, and what the customer pays of a redo inside it.

    `left_out` is an amount (removal and refit, freight, fluids: what cover excludes). Pro rata: besides, the
    share of the price that the elapsed months are of the cover. Laid-up months count unless told otherwise.
    """

    months: int = 0
    left_out: float = 0.0
    pro_rata: bool = False
    laid_up_counts: bool = True
    cover: Cover = Cover.FIRST

    def __post_init__(self) -> None:
        if not 0 <= self.months <= LONGEST:
            raise BadInput("months of warranty", self.months, f"a number of months from 0 to {LONGEST}")
        _require_amount("part of a redo that the customer pays", self.left_out)


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way of putting the fault right, as its economics see it; amounts in units of the currency.

    `days` without the boat, each time it is done. `damage`: what else breaks with a failure. `lost_core`:
    what a failure spoils for the option that follows. `resale`: worth at the end, while it is in the boat.
    """

    name: str
    price: float
    life: Life
    clock: Clock = Clock.USE
    days: float = 0.0
    warranty: Warranty = field(default_factory=Warranty)
    follows: str | None = None
    damage: float = 0.0
    lost_core: float = 0.0
    resale: float = 0.0

    def __post_init__(self) -> None:
        _require_amount("price", self.price)
        _require_amount("days without the boat", self.days)
        _require_amount("damage", self.damage)
        _require_amount("lost core", self.lost_core)
        _require_amount("resale value", self.resale)

    @property
    def next_name(self) -> str:
        """What is done after a failure that nobody covers."""
        return self.follows or self.name


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """How long and on which terms the options are compared; `rate` is a year's discount rate as a share."""

    months: int
    season: Season
    rate: float = 0.0
    lost_day: float = 0.0
    tow: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.months <= LONGEST:
            raise BadInput("months to look at", self.months, f"a number of months from 0 to {LONGEST}")
        if not 0 <= self.rate <= 1:
            raise BadInput("discount rate", self.rate, "a share from 0 to 1")
        _require_amount("worth of a lost day", self.lost_day)
        _require_amount("tow", self.tow)

    @property
    def force(self) -> float:
        """The discount rate as a continuous rate a month."""
        return float(np.log1p(self.rate)) / 12

    @property
    def seasons(self) -> float:
        """The horizon in seasons (a season and its lay-up are a year)."""
        return self.months / 12


def by_name(options: Sequence[Option]) -> dict[str, Option]:
    """The options by their names, in the order given.

    Raises:
        BadInput: a name given twice, or an option that follows but is not there.
    """
    named = {option.name: option for option in options}
    if len(named) < len(options):
        raise BadInput(
            "options", ", ".join(option.name for option in options), "each option a name of its own"
        )
    for option in options:
        if option.next_name not in named:
            raise BadInput("what follows", option.next_name, "one of the options that are compared")
    return named


def reachable(name: str, *, named: Mapping[str, Option]) -> set[str]:
    """The option and all that may come after it."""
    seen: set[str] = set()
    while name not in seen:
        seen.add(name)
        name = named[name].next_name
    return seen


def last_first(named: Mapping[str, Option]) -> list[Option]:
    """So that what follows an option stands before it; an option that is followed by itself ends a chain."""
    ordered: list[Option] = []
    for option in named.values():
        chain = [option]
        while chain[-1].next_name != chain[-1].name:
            after = named[chain[-1].next_name]
            if after in chain:
                raise BadInput(
                    "what follows", after.name, "options that do not follow each other in a circle"
                )
            chain.append(after)
        ordered += [one for one in reversed(chain) if one not in ordered]
    return ordered


def _require_amount(field: str, value: float) -> None:
    if not (np.isfinite(value) and value >= 0):
        raise BadInput(field, value, "a number that is 0 or more")

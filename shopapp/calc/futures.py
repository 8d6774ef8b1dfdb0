"""Thousands of boats that live through each option: how far apart the bills may lie, beside their average.

Drawn with a seed, so that the same question gets the same answer.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import MOST_GENERATIONS
from shopapp.calc.life import Clock, Floats, Weibull
from shopapp.calc.options import Cover, Option, Outlook, by_name
from shopapp.calc.record import Belief

FUTURES = 20_000
SEED = 20
# a drawn number may be rounded to nil or one, and no life has such a chance
LEAST_CHANCE = 1e-9

Rows = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class Draw:
    """How many boats are followed, and the seed of their luck."""

    futures: int = FUTURES
    seed: int = SEED

    def __post_init__(self) -> None:
        if self.futures < 1:
            raise BadInput("number of futures", self.futures, "a number above 0")


def futures(
    options: Sequence[Option], *, outlook: Outlook, beliefs: Mapping[str, Belief], draw: Draw | None = None
) -> dict[str, Floats]:
    """What each boat will have paid by the horizon, discounted to today, one number a boat, by option.

    The model is that of `expectation.expected`. A boat has the same luck whichever option is taken, so what
    differs is the option. Where `beliefs` hold a distribution of an option's chance, each boat draws its own
    from it; else every boat has the chance of the option's life. Failures are timed exactly, without a grid.

    Raises:
        BadInput: as `expected`; a belief for a life that is not made from a chance and a shape; more repairs
            of one boat than anybody pays for.
    """
    named = by_name(options)
    draw = draw or Draw()
    rng = np.random.default_rng(draw.seed)
    chances = {name: _chances(named[name], belief, rng, draw) for name, belief in sorted(beliefs.items())}
    fleets = [
        _Fleet(named=named, outlook=outlook, chances=chances, starts=option, boats=draw.futures)
        for option in options
    ]
    for _generation in range(MOST_GENERATIONS):
        luck = rng.random(draw.futures)
        for fleet in fleets:
            fleet.live(luck)
        if not any(fleet.afloat for fleet in fleets):
            return {option.name: fleet.paid for option, fleet in zip(options, fleets, strict=True)}
    raise BadInput("chance", ", ".join(named), "chances at which repairs last for a while")


def _chances(option: Option, belief: Belief, rng: np.random.Generator, draw: Draw) -> Floats:
    """A chance for each boat."""
    if not isinstance(option.life, Weibull):
        raise BadInput("life", option.name, "a life that is made from a chance and a shape")
    drawn = rng.beta(belief.alpha, belief.beta, draw.futures)
    return np.clip(drawn, LEAST_CHANCE, 1 - LEAST_CHANCE)


class _Fleet:
    """Boats that start with one option; `live` takes those still afloat to their next failure."""

    def __init__(
        self,
        *,
        named: Mapping[str, Option],
        outlook: Outlook,
        chances: Mapping[str, Floats],
        starts: Option,
        boats: int,
    ) -> None:
        self.named, self.outlook, self.chances = named, outlook, chances
        self.running = _Running(outlook=outlook)
        self.paid = np.full(boats, starts.price + starts.days * outlook.lost_day)
        everybody = np.arange(boats)
        self.crews = [_Crew(option=starts, boats=everybody, fitted=np.zeros(boats), since=np.zeros(boats))]

    @property
    def afloat(self) -> bool:
        return bool(self.crews)

    def live(self, luck: Floats) -> None:
        crews: dict[str, list[_Crew]] = {}
        for crew in self.crews:
            for after in self._fail(crew, luck):
                crews.setdefault(after.option.name, []).append(after)
        self.crews = [_together(same) for same in crews.values()]

    def _fail(self, crew: "_Crew", luck: Floats) -> list["_Crew"]:
        option, outlook = crew.option, self.outlook
        chances = self.chances.get(option.name)
        own = None if chances is None else chances[crew.boats]
        ages = option.life.age_at(luck[crew.boats], chances=own)
        at = self.running.fails(crew, ages)
        fails = at < outlook.months
        if option.resale:
            self.paid[crew.boats[~fails]] -= option.resale * _discount(outlook.months, outlook=outlook)
        failed = crew.those(fails, fitted=at[fails])
        # a comparison with what is not a number is false: no cover is left
        covered = self.running.cover_used(failed) <= option.warranty.months
        redone, lost = failed.those(covered), failed.those(~covered)
        self._pay(redone, self._redo_bill(redone))
        following = self.named[option.next_name]
        self._pay(lost, _next_bill(option, following, outlook=outlook))
        crews = [redone.redone(), lost.followed_by(following)]
        return [one for one in crews if len(one.boats)]

    def _redo_bill(self, crew: "_Crew") -> Floats | float:
        option, warranty, outlook = crew.option, crew.option.warranty, self.outlook
        bill = warranty.left_out + option.damage + outlook.tow + option.days * outlook.lost_day
        if not warranty.pro_rata:
            return bill
        return bill + option.price * self.running.cover_used(crew) / warranty.months

    def _pay(self, crew: "_Crew", bill: Floats | float) -> None:
        self.paid[crew.boats] += bill * _discount(crew.fitted, outlook=self.outlook)


@dataclass(frozen=True, kw_only=True)
class _Crew:
    """Boats with the same option: fitted when (months), cover since when (nan: no cover left)."""

    option: Option
    boats: Rows
    fitted: Floats
    since: Floats

    def those(self, mask: NDArray[np.bool_], *, fitted: Floats | None = None) -> "_Crew":
        return _Crew(
            option=self.option,
            boats=self.boats[mask],
            fitted=self.fitted[mask] if fitted is None else fitted,
            since=self.since[mask],
        )

    def redone(self) -> "_Crew":
        cover = self.option.warranty.cover
        since = {Cover.FIRST: np.full_like(self.since, np.nan), Cover.RENEWING: self.fitted}
        return _Crew(
            option=self.option, boats=self.boats, fitted=self.fitted, since=since.get(cover, self.since)
        )

    def followed_by(self, option: Option) -> "_Crew":
        return _Crew(option=option, boats=self.boats, fitted=self.fitted, since=self.fitted)


def _together(crews: Sequence[_Crew]) -> _Crew:
    if len(crews) == 1:
        return crews[0]
    return _Crew(
        option=crews[0].option,
        boats=np.concatenate([crew.boats for crew in crews]),
        fitted=np.concatenate([crew.fitted for crew in crews]),
        since=np.concatenate([crew.since for crew in crews]),
    )


@dataclass(frozen=True, kw_only=True)
class _Running:
    """Months of running against months since hand-over, both ways: a month runs whole or not at all."""

    outlook: Outlook

    @cached_property
    def shown(self) -> Floats:
        """Months of running at the start of each month, and at the horizon."""
        return self.outlook.season.months_run(np.arange(self.outlook.months + 1.0))

    @cached_property
    def running(self) -> Floats:
        """The months that run, in order."""
        return np.flatnonzero(np.diff(self.shown)).astype(float)

    def by(self, at: Floats) -> Floats:
        """Months of running between hand-over and each moment."""
        month = np.minimum(at.astype(np.intp), len(self.shown) - 1)
        after = self.shown[np.minimum(month + 1, len(self.shown) - 1)]
        return np.asarray(self.shown[month] + (at - month) * (after - self.shown[month]))

    def when(self, run: Floats) -> Floats:
        """The moment at which so many months have been run; infinite where that is beyond the horizon."""
        at = np.full_like(run, np.inf)
        reached = np.flatnonzero(run < self.shown[-1])
        whole = run[reached].astype(np.intp)
        at[reached] = self.running[whole] + run[reached] - whole
        return at

    def fails(self, crew: "_Crew", ages: Floats) -> Floats:
        """When what was fitted on each boat has the age; beyond the horizon where that is never."""
        if crew.option.clock is Clock.CALENDAR:
            return crew.fitted + ages * 12
        return self.when(self.by(crew.fitted) + ages * self.outlook.season.months)

    def cover_used(self, crew: "_Crew") -> Floats:
        """Months of its cover that had passed by the time in `fitted`; not a number where none is left."""
        if crew.option.warranty.laid_up_counts:
            return crew.fitted - crew.since
        used = self.by(crew.fitted) - self.by(np.nan_to_num(crew.since))
        return np.where(np.isnan(crew.since), np.nan, used)


def _next_bill(option: Option, following: Option, *, outlook: Outlook) -> float:
    beside = option.damage + option.lost_core + outlook.tow
    return beside + following.price + following.days * outlook.lost_day


def _discount(at: Floats | float, *, outlook: Outlook) -> Floats | float:
    return np.asarray(np.exp(-outlook.force * at)) if outlook.force else 1.0

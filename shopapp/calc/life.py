"""How long a repair lasts: a distribution of its age at failure, made from what a mechanic can say.

Ages are in seasons. All of it is float: it advises, and is never an amount on a document.
"""

from dataclasses import dataclass
from enum import Enum, StrEnum
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from shopapp.calc.errors import BadInput

Floats = NDArray[np.float64]

# below it most failures fall into the first hours, and a half month is too coarse to tell them apart
LEAST_SHAPE, GREATEST_SHAPE = 0.3, 100.0


class Fails(Enum):
    """When it fails, in a mechanic's words; the value is the shape of the Weibull distribution.

    Common practice, no source: early failures below 1, by chance at 1, wear-out above.
    """

    EARLY = 0.7
    BY_CHANCE = 1.0
    WEARS_OUT = 2.5


class Clock(StrEnum):
    """What it wears by: a season of use is one full season of running, a season of the calendar a year."""

    USE = "use"
    CALENDAR = "calendar"


class Life(Protocol):
    """A distribution of the age at failure, in seasons."""

    def cdf(self, age: Floats) -> Floats:
        """The share that has failed by each age (seasons, 0 or more)."""

    def age_at(self, share: Floats, *, chances: Floats | None = None) -> Floats:
        """The age by which each share (0 to 1) has failed; of other chances a season where they are given."""


@dataclass(frozen=True, kw_only=True)
class Weibull:
    """The Weibull distribution of which `chance` has failed within one season.

    F(t) = 1 − exp(−(t/scale)^shape), so scale = (−ln(1 − chance))^(−1/shape).
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 8.1.6.2 (formula from memory).

    Raises:
        BadInput: a chance that is nil or certain, or a shape outside 0.3 to 100.
    """

    chance: float
    shape: float

    def __post_init__(self) -> None:
        if not 0 < self.chance < 1:
            raise BadInput("chance of a failure within a season", self.chance, "a share between 0 and 1")
        if not LEAST_SHAPE <= self.shape <= GREATEST_SHAPE:
            raise BadInput("shape", self.shape, f"a number from {LEAST_SHAPE} to {GREATEST_SHAPE:g}")

    @property
    def scale(self) -> float:
        """The age in seasons by which 63.2 % have failed, whatever the shape."""
        return float((-np.log1p(-self.chance)) ** (-1 / self.shape))

    def cdf(self, age: Floats) -> Floats:
        """See `Life`."""
        return -np.expm1(-((age / self.scale) ** self.shape))

    def age_at(self, share: Floats, *, chances: Floats | None = None) -> Floats:
        """See `Life`."""
        hazard = np.log1p(-np.asarray(self.chance if chances is None else chances))
        return np.asarray((np.log1p(-share) / hazard) ** (1 / self.shape))


@dataclass(frozen=True, kw_only=True)
class Season:
    """When the boat runs: the month of hand-over (1 to 12), the first month of the season and its length.

    Raises:
        BadInput: a month that is none, or a season of no month or of more than twelve.
    """

    handed_over: int
    first_month: int
    months: int

    def __post_init__(self) -> None:
        for field, month in (("month of hand-over", self.handed_over), ("first month", self.first_month)):
            if month not in range(1, 13):
                raise BadInput(field, month, "a month from 1 to 12")
        if self.months not in range(1, 13):
            raise BadInput("months of a season", self.months, "a number of months from 1 to 12")

    def months_run(self, at: Floats) -> Floats:
        """How many months of running lie between hand-over and each moment (months since hand-over)."""
        whole = np.arange(int(np.ceil(at.max(initial=0.0))) + 1)
        runs = (self.handed_over - self.first_month + whole) % 12 < self.months
        by_month = np.concatenate(([0.0], np.cumsum(runs.astype(float))))
        return np.interp(at, np.arange(len(by_month)), by_month)


def seasons_since(at: Floats, *, clock: Clock, season: Season) -> Floats:
    """What the clock shows at each moment (months since hand-over), in seasons; nil at hand-over."""
    return at / 12 if clock is Clock.CALENDAR else season.months_run(at) / season.months

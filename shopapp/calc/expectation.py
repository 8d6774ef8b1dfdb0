"""What each option will have cost after some months, on the average of many such boats.

A renewal equation, solved on a grid of half months; the model is told at `expected`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shopapp.calc.errors import BadInput
from shopapp.calc.life import Floats, seasons_since
from shopapp.calc.options import Cover, Option, Outlook, Warranty, by_name, last_first

CELLS_A_MONTH = 2
# more repairs of one boat than anybody pays for: the chance is too high for its shape
MOST_GENERATIONS = 200
NEGLIGIBLE = 1e-13
# beyond it the grid is too coarse to tell how often it fails
MOST_IN_A_CELL = 0.5


@dataclass(frozen=True, kw_only=True)
class Expected:
    """On the average of many such boats, discounted to today.

    `total` is what the customer will have paid, `redos` how many redos the shop will have done under the
    warranty of what is sold today, `paid_of_redos` what the customer will have paid of them.
    """

    total: float
    redos: float
    paid_of_redos: float


@dataclass(frozen=True, kw_only=True)
class Grid:
    """Points every half month from hand-over to the horizon, and the cells between them."""

    outlook: Outlook
    cells_a_month: int

    @cached_property
    def at(self) -> Floats:
        return np.arange(self.outlook.months * self.cells_a_month + 1) / self.cells_a_month

    @cached_property
    def middle(self) -> Floats:
        return (self.at[:-1] + self.at[1:]) / 2

    @cached_property
    def discount(self) -> Floats:
        """From each cell back to each point."""
        return np.exp(-self.outlook.force * np.maximum(self.middle - self.at[:, None], 0))

    def failed_by(self, option: Option, at: Floats) -> Floats:
        """The share failed at each moment (columns) of what was fitted at each point (rows)."""
        fitted, shows = (
            seasons_since(when, clock=option.clock, season=self.outlook.season) for when in (self.at, at)
        )
        return np.asarray(option.life.cdf(np.maximum(shows - fitted[:, None], 0)))

    def resolves(self, option: Option) -> bool:
        """Whether at least half of them last from one point to the next, wherever they are fitted."""
        shows = seasons_since(self.at, clock=option.clock, season=self.outlook.season)
        return bool(option.life.cdf(np.diff(shows)).max(initial=0.0) <= MOST_IN_A_CELL)

    def falls(self, option: Option) -> Floats:
        """The share failing in each cell (columns) of what was fitted at each point (rows), discounted.

        The first half of the columns goes to the points before the cells, the second to those after them,
        so that the mean moment of failure is kept: by Simpson's rule for the distribution within a cell.
        """
        if not self.resolves(option):
            raise BadInput(
                "chance", option.name, "a chance at which more than half of them last half a month"
            )
        by_point, by_middle = self.failed_by(option, self.at), self.failed_by(option, self.middle)
        before, after = by_point[:, :-1], by_point[:, 1:]
        to_before = (4 * by_middle + after - 5 * before) / 6
        # what was fitted at a point does not fail before it
        to_before = np.clip(to_before, 0, after - before)
        return np.hstack((to_before * self.discount, (after - before - to_before) * self.discount))

    def kept_to_the_end(self, option: Option) -> Floats:
        """The share of what was fitted at each point that lasts to the horizon, discounted from there."""
        left = self.outlook.months - self.at
        return (1 - self.failed_by(option, self.at[-1:])[:, 0]) * np.exp(-self.outlook.force * left)

    def elapsed(self, warranty: Warranty) -> Floats:
        """Months of cover that each point has used up since hand-over."""
        return self.at if warranty.laid_up_counts else self.outlook.season.months_run(self.at)


def expected(
    options: Sequence[Option], *, outlook: Outlook, cells_a_month: int = CELLS_A_MONTH
) -> dict[str, Expected]:
    """The expectation of each option, by its name.

    The model. At hand-over the life of an option starts. When it fails inside its cover it is done again the
    same way: the customer pays what cover leaves out, the days without the boat, the tow and what broke with
    it; how often cover does that, `Cover` says. Any other failure is followed by the option that `follows`
    names (nothing: the same again) at its price, with its own life and its own cover. So the state of a boat
    is the option in it and the cover left on it. Lives start anew with each repair; on the clock of use they
    stand still while the boat is laid up. Discounting is by calendar. Days in the workshop are paid for and
    not taken off the life.

    Solved as renewal equations V(a) = Σ ΔF(a, k) · (bill + V(next)) by increments of the distribution
    function, discounted from the middle of a cell; the value after a failure is taken from both ends of its
    cell so that the mean moment of failure is kept (half and half is up to four times coarser). Source of the
    equation: E. Çinlar, Introduction to Stochastic Processes, chapter 9 (from memory).

    Raises:
        BadInput: a name given twice, an option that follows but is not there, fallbacks in a circle, or so
            many failures that no repair lasts.
    """
    named = by_name(options)
    grid = Grid(outlook=outlook, cells_a_month=cells_a_month)
    values: dict[str, Floats] = {}
    answers = {
        option.name: answer(option, named=named, grid=grid, values=values) for option in last_first(named)
    }
    return {option.name: answers[option.name] for option in options}


def answer(option: Option, *, named: Mapping[str, Option], grid: Grid, values: dict[str, Floats]) -> Expected:
    """Solves one option whose followers are solved, and adds its own values to theirs."""
    run = _run(option, named[option.next_name], grid, whole=_starts_anywhere(option, named))
    values[option.name] = _solved(option, run, values)
    today = option.price + option.days * grid.outlook.lost_day
    return Expected(
        total=float(today + values[option.name][0]),
        redos=float(_back_from_the_end(run.renews, run.redos)[0]),
        paid_of_redos=float(_back_from_the_end(run.renews, run.paid_of_redos)[0]),
    )


# --- how it is solved ----------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class _Run:
    """What becomes of an option fitted at the points of `rows` until another takes its place."""

    paid: Floats  # bills of the customer meanwhile, less what it is worth at the end
    leads_to: Floats  # weight of each point (columns) as the start of what follows
    renews: Floats  # weight of each point as the start of the same with fresh cover
    redos: Floats
    paid_of_redos: Floats


def _starts_anywhere(option: Option, named: Mapping[str, Option]) -> bool:
    """Whether it may be fitted after hand-over too, with a cover of its own."""
    renews = option.warranty.cover is Cover.RENEWING
    return renews or any(one.next_name == option.name for one in named.values())


def _run(option: Option, following: Option, grid: Grid, *, whole: bool) -> _Run:
    rows = len(grid.at) if whole else 1
    fitted, covered, lost = (sum(each) for each in zip(*_generations(option, grid, rows), strict=True))
    outlook = grid.outlook
    beside = option.damage + outlook.tow
    redo_bill = beside + option.days * outlook.lost_day
    next_bill = beside + option.lost_core + following.price + following.days * outlook.lost_day
    paid_of_redos = (covered * _share_of_redo(option, grid, rows)).sum(axis=1)
    redos = covered.sum(axis=1)
    return _Run(
        paid=paid_of_redos
        + redos * redo_bill
        + lost.sum(axis=1) * next_bill
        - option.resale * (fitted @ grid.kept_to_the_end(option)),
        leads_to=_to_points(lost),
        renews=_to_points(covered) if option.warranty.cover is Cover.RENEWING else np.zeros_like(fitted),
        redos=redos,
        paid_of_redos=paid_of_redos,
    )


def _generations(option: Option, grid: Grid, rows: int) -> Iterator[tuple[Floats, Floats, Floats]]:
    """Where it is fitted (points), fails under cover, fails otherwise (cells): at first, after a redo, …"""
    falls = grid.falls(option)
    inside = _inside_cover(option.warranty, grid, rows)
    fitted, fails = np.eye(rows, len(grid.at)), falls[:rows]
    for generation in range(MOST_GENERATIONS):
        covered = fails * inside if _takes(option.warranty, generation) else np.zeros_like(fails)
        yield fitted, covered, fails - covered
        fitted = _to_points(covered)
        if option.warranty.cover is Cover.RENEWING or fitted.max(initial=0.0) < NEGLIGIBLE:
            return
        fails = fitted @ falls
    raise BadInput("chance", option.name, "a chance at which a repair lasts for a while")


def _takes(warranty: Warranty, generation: int) -> bool:
    return warranty.months > 0 and (warranty.cover is not Cover.FIRST or generation == 0)


def _inside_cover(warranty: Warranty, grid: Grid, rows: int) -> Floats:
    """1 for cells inside the cover of what was fitted at a row's point; no cover ends within a cell."""
    used = grid.elapsed(warranty)
    return np.tile(used[1:] - used[:rows, None] <= warranty.months + NEGLIGIBLE, 2)


def _share_of_redo(option: Option, grid: Grid, rows: int) -> Floats:
    """What the customer pays of a redo in each cell."""
    warranty = option.warranty
    if not warranty.pro_rata or warranty.months == 0:
        return np.full((rows, 2 * len(grid.middle)), warranty.left_out)
    used = grid.elapsed(warranty)
    share = ((used[1:] + used[:-1]) / 2 - used[:rows, None]) / warranty.months
    return np.tile(warranty.left_out + option.price * np.clip(share, 0, 1), 2)


def _to_points(cells: Floats) -> Floats:
    """The weight of each point: of the cell behind it what goes there, and of the cell before it."""
    before, after = np.hsplit(cells, 2)
    points = np.zeros((len(cells), before.shape[1] + 1))
    points[:, :-1] += before
    points[:, 1:] += after
    return points


def _solved(option: Option, run: _Run, values: Mapping[str, Floats]) -> Floats:
    """The value at each point (or at the first only, where nothing else starts there)."""
    known, own = run.paid, run.renews
    if option.follows and option.follows != option.name:
        known = known + run.leads_to @ values[option.follows]
    else:
        own = own + run.leads_to
    return _back_from_the_end(own, known)


def _back_from_the_end(own: Floats, known: Floats) -> Floats:
    """Solves value = known + own · value, of which each point needs only later ones and itself."""
    if not own.any():
        return known
    value = np.empty(len(own))
    for point in reversed(range(len(own))):
        later = own[point, point + 1 :] @ value[point + 1 :]
        value[point] = (known[point] + later) / (1 - own[point, point])
    return value

"""What each option will have cost after some months, on the average of many such boats.

A renewal equation, solved on a grid of half months; the model is told at `expected`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce

import numpy as np
from numpy.typing import NDArray

from shopapp.calc.errors import BadInput
from shopapp.calc.life import Clock, Floats
from shopapp.calc.options import Cover, Option, Outlook, Warranty, by_name, last_first

Steps = NDArray[np.intp]

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

    def shows(self, clock: Clock) -> Steps:
        """What the clock shows at the points and in the middles between them, in whole steps."""
        at = np.arange(2 * len(self.middle) + 1) / (2 * self.cells_a_month)
        if clock is Clock.USE:
            at = self.outlook.season.months_run(at)
        return np.rint(at * 2 * self.cells_a_month).astype(np.intp)

    @cached_property
    def ages(self) -> dict[Clock, Steps]:
        """By clock: how old is at each moment (columns) what was fitted at each point (rows), in steps.

        Months run whole or not at all, so ages are whole steps, and a life is asked once for each age.
        """
        shows = {clock: self.shows(clock) for clock in Clock}
        return {clock: np.maximum(at - at[::2, None], 0) for clock, at in shows.items()}

    def failed_by(self, option: Option, *, rows: int) -> Floats:
        """The share failed at each point and middle (columns) of what was fitted at the first points."""
        ages = self.ages[option.clock][:rows]
        months = 12 if option.clock is Clock.CALENDAR else self.outlook.season.months
        steps = np.arange(ages[0, -1] + 1)
        return np.asarray(option.life.cdf(steps / (2 * self.cells_a_month * months)))[ages]

    def resolves(self, option: Option) -> bool:
        """Whether at least half of them last from one point to the next, wherever they are fitted."""
        month = 1 / (12 if option.clock is Clock.CALENDAR else self.outlook.season.months)
        in_a_cell = option.life.cdf(np.array([month / self.cells_a_month]))
        return self.outlook.months == 0 or bool(in_a_cell[0] <= MOST_IN_A_CELL)

    def falls(self, option: Option, *, rows: int) -> Floats:
        """The share failing in each cell (columns) of what was fitted at the first points, discounted.

        The first half of the columns goes to the points before the cells, the second to those after them,
        so that the mean moment of failure is kept: by Simpson's rule for the distribution within a cell.
        """
        if not self.resolves(option):
            raise BadInput(
                "chance", option.name, "a chance at which more than half of them last half a month"
            )
        failed_by = self.failed_by(option, rows=rows)
        before, by_middle, after = failed_by[:, :-1:2], failed_by[:, 1::2], failed_by[:, 2::2]
        to_before = (4 * by_middle + after - 5 * before) / 6
        # what was fitted at a point does not fail before it
        to_before = np.clip(to_before, 0, after - before)
        discount = self.discount[:rows]
        return np.hstack((to_before * discount, (after - before - to_before) * discount))

    def kept_to_the_end(self, option: Option) -> Floats:
        """The share of what was fitted at each point that lasts to the horizon, discounted from there."""
        left = self.outlook.months - self.at
        return (1 - self.failed_by(option, rows=len(self.at))[:, -1]) * np.exp(-self.outlook.force * left)

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
    return dict(solved(options, outlook=outlook, cells_a_month=cells_a_month).answers)


@dataclass(frozen=True, kw_only=True)
class Solved:
    """The expectations with what they were solved on, for questions that change one option only."""

    named: Mapping[str, Option]
    grid: Grid
    answers: Mapping[str, Expected]
    values: Mapping[str, Floats]


def solved(options: Sequence[Option], *, outlook: Outlook, cells_a_month: int = CELLS_A_MONTH) -> Solved:
    """Like `expected`, with the values at every point of the grid."""
    named = by_name(options)
    grid = Grid(outlook=outlook, cells_a_month=cells_a_month)
    values: dict[str, Floats] = {}
    answers = {
        option.name: answer(option, named=named, grid=grid, values=values) for option in last_first(named)
    }
    in_order = {option.name: answers[option.name] for option in options}
    return Solved(named=named, grid=grid, answers=in_order, values=values)


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
    generations = list(_generations(option, grid, len(grid.at) if whole else 1))
    covered = reduce(np.add, (one.covered for one in generations))
    lost = reduce(np.add, (one.lost for one in generations))
    outlook = grid.outlook
    beside = option.damage + outlook.tow
    redo_bill = beside + option.days * outlook.lost_day
    next_bill = beside + option.lost_core + following.price + following.days * outlook.lost_day
    paid_of_redos = reduce(np.add, (one.paid for one in generations))
    redos = covered.sum(axis=1)
    return _Run(
        paid=paid_of_redos
        + redos * redo_bill
        + lost.sum(axis=1) * next_bill
        - _worth(option, generations, grid),
        leads_to=lost,
        renews=covered if option.warranty.cover is Cover.RENEWING else np.zeros_like(covered),
        redos=redos,
        paid_of_redos=paid_of_redos,
    )


@dataclass(frozen=True, kw_only=True)
class _Generation:
    """What is fitted at the points for the n-th time: where it fails under cover and otherwise (points)."""

    fitted: Floats
    covered: Floats
    lost: Floats
    paid: Floats  # of the redos, by the customer


def _generations(option: Option, grid: Grid, rows: int) -> Iterator[_Generation]:
    reach = _reach(option.warranty, grid, rows)
    falls = grid.falls(option, rows=reach)
    to_points = _to_points(falls)
    inside = _inside_cover(option.warranty, grid, rows)
    fitted = np.eye(rows, len(grid.at))
    for generation in range(MOST_GENERATIONS):
        fails = fitted[:, :reach] @ to_points if generation else to_points[:rows]
        if not _takes(option.warranty, generation):
            nothing = np.zeros_like(fitted)
            yield _Generation(fitted=fitted, covered=nothing, lost=fails, paid=nothing[:, 0])
            return
        cells = (fitted[:, :reach] @ falls if generation else falls[:rows]) * inside
        covered = _to_points(cells)
        paid = (cells * _share_of_redo(option, grid, rows)).sum(axis=1)
        yield _Generation(fitted=fitted, covered=covered, lost=fails - covered, paid=paid)
        fitted = covered
        if option.warranty.cover is Cover.RENEWING or fitted.max(initial=0.0) < NEGLIGIBLE:
            return
    raise BadInput("chance", option.name, "a chance at which a repair lasts for a while")


def _reach(warranty: Warranty, grid: Grid, rows: int) -> int:
    """How many of the first points it is fitted at: where the cover of what starts at `rows` points ends."""
    if rows > 1 or not warranty.months:
        return rows
    return int(np.searchsorted(grid.elapsed(warranty), warranty.months + NEGLIGIBLE, side="right"))


def _takes(warranty: Warranty, generation: int) -> bool:
    return warranty.months > 0 and (warranty.cover is not Cover.FIRST or generation == 0)


def _worth(option: Option, generations: Sequence[_Generation], grid: Grid) -> Floats:
    """What is left of it at the end, where it is still in the boat."""
    if not option.resale:
        return np.zeros(len(generations[0].fitted))
    fitted = reduce(np.add, (one.fitted for one in generations))
    return np.asarray(option.resale * (fitted @ grid.kept_to_the_end(option)))


def _inside_cover(warranty: Warranty, grid: Grid, rows: int) -> Floats:
    """1 for cells inside the cover of what was fitted at a row's point; no cover ends within a cell."""
    used = grid.elapsed(warranty)
    return np.tile(used[1:] - used[:rows, None] <= warranty.months + NEGLIGIBLE, 2)


def _share_of_redo(option: Option, grid: Grid, rows: int) -> Floats | float:
    """What the customer pays of a redo, in each cell where that differs."""
    warranty = option.warranty
    if not warranty.pro_rata:
        return warranty.left_out
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

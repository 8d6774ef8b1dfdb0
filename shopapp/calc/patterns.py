"""Where fasteners stand, their order, and how they are drawn: circles, rows, grids and rims.

The maker's own sequence wins over the general order, which is common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import cos, dist, pi, sin

from shopapp.calc.errors import BadInput

MOST_FASTENERS = 60
# of a drawing: between two neighbours a disc and the word below it have room
APART, MARGIN = 96.0, 60.0

type _Cell = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Place:
    """A fastener by its number, drawn at x, y of a unit square; x to the right, y downwards."""

    number: int
    x: float
    y: float


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """Fasteners where they stand, and the order in which they are tightened, by number."""

    places: tuple[Place, ...]
    order: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """Where each fastener (by its number) is drawn on a sheet of this size; x to the right, y downwards."""

    width: float
    height: float
    spots: dict[int, tuple[float, float]]


def drawn(places: Sequence[Place], *, across: float, down: float) -> Drawing:
    """The places on a sheet as wide and as high as the joint is: ``across`` and ``down`` are its proportions.

    Scaled so that the two nearest are ``APART``.
    """
    spots = {one.number: (one.x * across, one.y * down) for one in places}
    lowest = tuple(min(spot[axis] for spot in spots.values()) for axis in (0, 1))
    nearest = min((dist(one, other) for one, other in combinations(spots.values(), 2)), default=1.0)
    scale = APART / nearest
    moved = {
        number: tuple(round((spot[axis] - lowest[axis]) * scale + MARGIN, 1) for axis in (0, 1))
        for number, spot in spots.items()
    }
    return Drawing(
        width=round(max(x for x, _y in moved.values()) + MARGIN, 1),
        height=round(max(y for _x, y in moved.values()) + MARGIN, 1),
        spots={number: (x, y) for number, (x, y) in moved.items()},
    )


def circle(fasteners: int) -> Pattern:
    """Fasteners on a circle, numbered clockwise from the top: crossing, each pair opposite the other.

    The next pair is the one farthest from those tightened. An odd number has no opposites: each step goes
    nearly half way round. Common practice, no source.
    """
    _count(fasteners, field="fasteners")
    turn = 2 * pi / fasteners
    places = tuple(
        Place(number=n + 1, x=_clean(0.5 + 0.5 * sin(turn * n)), y=_clean(0.5 - 0.5 * cos(turn * n)))
        for n in range(fasteners)
    )
    if fasteners % 2:
        step = max((fasteners - 1) // 2, 1)
        return Pattern(places=places, order=tuple(step * n % fasteners + 1 for n in range(fasteners)))
    half = fasteners // 2
    firsts = _farthest_first(half)
    return Pattern(places=places, order=tuple(n for first in firsts for n in (first + 1, first + half + 1)))


def line(fasteners: int) -> Pattern:
    """A single row from left to right, tightened from the middle outwards, one side and the other in turn."""
    return grid(columns=fasteners, rows=1)


def grid(*, columns: int, rows: int) -> Pattern:
    """Columns and rows, numbered row by row: from the middle outwards, crossing. Common practice, no source.

    Each pair is opposite through the middle; the next begins as far from the last fastener as it can.
    """
    _grid_size(columns, rows=rows)
    cells = [(column, row) for row in range(rows) for column in range(columns)]
    return _from_the_middle(cells, columns=columns, rows=rows)


def rectangle(*, columns: int, rows: int) -> Pattern:
    """The rim of a rectangle, as of a cover, numbered clockwise from the upper left, corners included.

    From the middle of the sides to the corners, crossing. Common practice, no source.
    """
    _grid_size(columns, rows=rows)
    if min(columns, rows) < 2:
        raise BadInput("rows and columns", f"{rows} × {columns}", "two or more of each, or a line")
    right, bottom = columns - 1, rows - 1
    rim = [
        *((column, 0) for column in range(right)),
        *((right, row) for row in range(bottom)),
        *((column, bottom) for column in range(right, 0, -1)),
        *((0, row) for row in range(bottom, 0, -1)),
    ]
    return _from_the_middle(rim, columns=columns, rows=rows)


def by_the_maker(pattern: Pattern, *, sequence: Sequence[int]) -> Pattern:
    """The same fasteners in the maker's own sequence, which wins over the general one.

    Raises:
        BadInput: a sequence that does not hold each fastener once.
    """
    if sorted(sequence) != sorted(pattern.order):
        written = ", ".join(str(number) for number in sequence)
        raise BadInput("maker's sequence", written, f"each number from 1 to {len(pattern.order)} once")
    return Pattern(places=pattern.places, order=tuple(sequence))


def _farthest_first(half: int) -> list[int]:
    """Pairs 0 to half − 1 of a circle, each the farthest from those before it; of some as far, the lowest."""
    taken, left = [0], list(range(1, half))
    while left:
        best = max(left, key=lambda one: (min(min(abs(one - t), half - abs(one - t)) for t in taken), -one))
        taken.append(best)
        left.remove(best)
    return taken


def _from_the_middle(cells: Sequence[_Cell], *, columns: int, rows: int) -> Pattern:
    """Pairs opposite through the middle, the nearest first; of those as near, the farthest from the last."""
    middle = ((columns - 1) / 2, (rows - 1) / 2)
    numbers = {cell: number for number, cell in enumerate(cells, start=1)}
    left, order = list(cells), list[_Cell]()
    while left:
        near = min(dist(cell, middle) for cell in left)
        ring = [cell for cell in left if dist(cell, middle) == near]
        last = order[-1] if order else middle
        first = max(ring, key=lambda cell: (dist(cell, last), -numbers[cell]))
        # the middle one itself has no other
        pair = dict.fromkeys((first, (columns - 1 - first[0], rows - 1 - first[1])))
        order += pair
        left = [cell for cell in left if cell not in pair]
    places = tuple(
        Place(number=number, x=_along(column, of=columns), y=_along(row, of=rows))
        for (column, row), number in numbers.items()
    )
    return Pattern(places=places, order=tuple(numbers[cell] for cell in order))


def _along(index: int, *, of: int) -> float:
    return index / (of - 1) if of > 1 else 0.5


def _clean(value: float) -> float:
    # a sine is never quite nil, and the drawing stays inside its square
    return round(value, 9)


def _count(fasteners: int, *, field: str) -> None:
    if not 1 <= fasteners <= MOST_FASTENERS:
        raise BadInput(field, fasteners, f"a number from 1 to {MOST_FASTENERS}")


def _grid_size(columns: int, *, rows: int) -> None:
    _count(columns, field="columns")
    _count(rows, field="rows")
    _count(columns * rows, field="fasteners")

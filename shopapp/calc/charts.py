"""Lines over time as whole points of a drawing: scales, ticks and labels that do not cover each other.

The drawing itself is a template, the same on screen and on paper.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from shopapp.calc.errors import BadInput

WIDTH, HEIGHT = 640, 320
LEFT, RIGHT, TOP, BOTTOM = 96, 128, 16, 40
# so far apart that two labels of text do not touch
APART = 27
MOST_STEPS = 4


@dataclass(frozen=True, kw_only=True)
class Tick:
    """A place on an axis and the value that stands there."""

    at: int
    value: float


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """One line: its points as "x,y x,y …", where it ends, and the height of its label."""

    points: str
    end_x: int
    end_y: int
    label_y: int


@dataclass(frozen=True, kw_only=True)
class Chart:
    """Lines by name between their axes; `left`, `right`, `top`, `bottom` bound the field they lie in."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    lines: Mapping[str, Drawn]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]


def line_chart(lines: Mapping[str, Sequence[float]], *, along: Sequence[int], every: int) -> Chart:
    """Draw values (0 or more) at the places `along` an axis that starts at 0, with a tick at each `every`.

    Raises:
        BadInput: no line, a line of another length, fewer than two places, or a value below 0.
    """
    _check(lines, along)
    highest = max(max(values) for values in lines.values())
    step = _round_step(highest / MOST_STEPS)
    top = step * max(1, ceil(highest / step))
    right, bottom = WIDTH - RIGHT, HEIGHT - BOTTOM

    def x(place: float) -> int:
        return round(LEFT + (right - LEFT) * place / along[-1])

    def y(value: float) -> int:
        return round(bottom - (bottom - TOP) * value / top)

    ends = {name: y(values[-1]) for name, values in lines.items()}
    labels = _apart(ends, within=(TOP, bottom))
    return Chart(
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=right,
        top=TOP,
        bottom=bottom,
        lines={
            name: Drawn(
                points=" ".join(f"{x(place)},{y(value)}" for place, value in zip(along, values, strict=True)),
                end_x=right,
                end_y=ends[name],
                label_y=labels[name],
            )
            for name, values in lines.items()
        },
        across=tuple(Tick(at=x(place), value=place) for place in range(0, along[-1] + 1, every)),
        up=tuple(Tick(at=y(step * n), value=step * n) for n in range(round(top / step) + 1)),
    )


def _check(lines: Mapping[str, Sequence[float]], along: Sequence[int]) -> None:
    if len(along) < 2 or not lines:
        raise BadInput("chart", len(along), "at least one line over two places")
    for name, values in lines.items():
        if len(values) != len(along):
            raise BadInput("line", name, f"{len(along)} values")
        if min(values) < 0:
            raise BadInput("line", name, "values of 0 or more")


def _round_step(least: float) -> float:
    """The smallest of 1, 2 and 5 times a power of ten that is no less."""
    if least <= 0:
        return 1.0
    power = 10.0 ** floor(log10(least))
    return next(power * times for times in (1, 2, 5, 10) if power * times >= least * (1 - 1e-9))


def _apart(ends: Mapping[str, int], *, within: tuple[int, int]) -> dict[str, int]:
    """Heights of labels beside the ends of lines: moved up where two would touch, down from the edge."""
    upper, lower = within
    rising = sorted(ends, key=lambda name: -ends[name])
    heights: dict[str, int] = {}
    for name in rising:
        heights[name] = min(ends[name], lower)
        lower = heights[name] - APART
    for name in reversed(rising):
        heights[name] = max(heights[name], upper)
        upper = heights[name] + APART
    return heights

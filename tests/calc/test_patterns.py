"""Fasteners in their places: across a circle, from the middle of a grid, the maker's own order first."""

from itertools import pairwise
from math import dist, hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.patterns import APART, MARGIN, Pattern, circle, drawn, grid, line, rectangle
from shopapp.calc.tightening import (
    Fastener,
)
from tests.reference.cases import case

M10 = Fastener(diameter=10, pitch=1.5, property_class="8.8")
sizes = st.tuples(st.integers(1, 7), st.integers(1, 7))


def apart(pattern: Pattern, one: int, other: int) -> float:
    at = {place.number: place for place in pattern.places}
    return hypot(at[one].x - at[other].x, at[one].y - at[other].y)


def test_circles_are_crossed_as_is_common_practice() -> None:
    published = case("engine_checks", "ENG-009")

    orders = [list(circle(n).order) for n in published.inputs["n"]]

    assert orders == published.expected["order"]


@pytest.mark.parametrize(
    ("pattern", "order"),
    [
        (circle(1), (1,)),
        (circle(2), (1, 2)),
        (circle(3), (1, 2, 3)),
        (circle(5), (1, 3, 5, 2, 4)),
        (circle(7), (1, 4, 7, 3, 6, 2, 5)),
        (circle(10), (1, 6, 3, 8, 2, 7, 4, 9, 5, 10)),
        (circle(12), (1, 7, 4, 10, 2, 8, 3, 9, 5, 11, 6, 12)),
        (line(5), (3, 2, 4, 1, 5)),
        (line(6), (3, 4, 2, 5, 1, 6)),
        (grid(columns=5, rows=2), (3, 8, 2, 9, 7, 4, 6, 5, 1, 10)),
        (grid(columns=4, rows=2), (2, 7, 3, 6, 4, 5, 8, 1)),
        (grid(columns=3, rows=3), (5, 2, 8, 4, 6, 1, 9, 3, 7)),
        (rectangle(columns=2, rows=2), (1, 3, 2, 4)),
        (rectangle(columns=3, rows=3), (2, 6, 4, 8, 3, 7, 1, 5)),
    ],
    ids=lambda one: "-".join(map(str, one)) if isinstance(one, tuple) else "",
)
def test_orders_go_across_and_from_the_middle(pattern: Pattern, order: tuple[int, ...]) -> None:
    # worked out by hand on the drawing
    assert pattern.order == order


def test_places_are_drawn_where_they_stand() -> None:
    on_circle = [(place.x, place.y) for place in circle(4).places]
    head = {place.number: (place.x, place.y) for place in grid(columns=5, rows=2).places}
    cover = [(place.x, place.y) for place in rectangle(columns=3, rows=2).places]
    row = [(place.x, place.y) for place in line(3).places]

    assert on_circle == [(0.5, 0), (1, 0.5), (0.5, 1), (0, 0.5)]
    assert (head[1], head[3], head[5], head[6], head[10]) == ((0, 0), (0.5, 0), (1, 0), (0, 1), (1, 1))
    assert cover == [(0, 0), (0.5, 0), (1, 0), (1, 1), (0.5, 1), (0, 1)]
    assert row == [(0, 0.5), (0.5, 0.5), (1, 0.5)]


@pytest.mark.parametrize("half", range(1, 31))
def test_even_circle_goes_to_the_opposite_and_never_next_door(half: int) -> None:
    pattern = circle(2 * half)
    order = pattern.order

    for one, other in zip(order[::2], order[1::2], strict=True):
        assert abs(one - other) == half
        assert apart(pattern, one, other) == pytest.approx(1)
    # among four the next one is always a neighbour of the last
    steps = {(other - one) % (2 * half) for one, other in pairwise(order)}
    assert half < 3 or not steps & {1, 2 * half - 1}


@pytest.mark.parametrize("fasteners", range(5, 60, 2))
def test_odd_circle_goes_nearly_half_way_round_each_time(fasteners: int) -> None:
    order = circle(fasteners).order

    steps = {(other - one) % fasteners for one, other in pairwise(order)}

    assert steps == {(fasteners - 1) // 2}


@given(sizes)
def test_grid_goes_outwards_and_each_is_followed_by_its_opposite(size: tuple[int, int]) -> None:
    columns, rows = size
    pattern = grid(columns=columns, rows=rows)
    cell = {place.number: divmod(place.number - 1, columns) for place in pattern.places}
    order = list(pattern.order)
    from_middle = [hypot(cell[n][1] - (columns - 1) / 2, cell[n][0] - (rows - 1) / 2) for n in order]

    assert from_middle == sorted(from_middle)
    paired = order[1:] if columns * rows % 2 else order
    assert all(
        one + other == columns * rows + 1 for one, other in zip(paired[::2], paired[1::2], strict=True)
    )


@given(sizes)
def test_drawing_keeps_neighbours_apart_and_everything_on_its_sheet(size: tuple[int, int]) -> None:
    columns, rows = size
    sheet = drawn(grid(columns=columns, rows=rows).places, across=columns - 1 or 1, down=rows - 1 or 1)

    assert (sheet.width, sheet.height) == (
        (columns - 1) * APART + 2 * MARGIN,
        (rows - 1) * APART + 2 * MARGIN,
    )
    assert sheet.spots[1] == (MARGIN, MARGIN)
    assert sheet.spots[columns * rows] == (sheet.width - MARGIN, sheet.height - MARGIN)


def test_circle_is_drawn_round() -> None:
    sheet = drawn(circle(6).places, across=1, down=1)

    # six on a circle stand as far from each other as from its middle
    assert sheet.height == pytest.approx(2 * (APART + MARGIN))
    assert dist(sheet.spots[1], sheet.spots[4]) == pytest.approx(2 * APART)

"""Lines over time as whole points: where they lie, how the axes are divided, labels that do not touch."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.charts import APART, BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, line_chart
from shopapp.calc.errors import BadInput


def test_line_starts_at_the_axis_and_ends_at_the_right_edge() -> None:
    chart = line_chart({"A": [0.0, 500.0, 1000.0]}, along=[0, 6, 12], every=12)

    middle = LEFT + (WIDTH - RIGHT - LEFT) // 2
    assert (
        chart.lines["A"].points
        == f"{LEFT},{HEIGHT - BOTTOM} {middle},{(TOP + HEIGHT - BOTTOM) // 2} {WIDTH - RIGHT},{TOP}"
    )
    assert (chart.lines["A"].end_x, chart.lines["A"].end_y) == (WIDTH - RIGHT, TOP)


@pytest.mark.parametrize(
    ("highest", "values"),
    [
        (1000.0, [0, 500, 1000]),
        (2345.0, [0, 1000, 2000, 3000]),
        (90.0, [0, 50, 100]),
        (0.4, [0, 0.1, 0.2, 0.3, 0.4]),
        (0.0, [0, 1]),
    ],
)
def test_axis_is_divided_by_round_numbers(highest: float, values: list[float]) -> None:
    chart = line_chart({"A": [0.0, highest]}, along=[0, 12], every=12)

    assert [tick.value for tick in chart.up] == pytest.approx(values)
    assert [tick.value for tick in chart.across] == [0, 12]


@given(st.lists(st.floats(0, 5000), min_size=1, max_size=5))
def test_labels_never_touch_and_stay_in_the_field(ends: list[float]) -> None:
    lines = {str(place): [100.0, end] for place, end in enumerate(ends)}

    chart = line_chart(lines, along=[0, 36], every=12)

    heights = sorted(line.label_y for line in chart.lines.values())
    assert all(lower - upper >= APART for upper, lower in pairwise(heights))
    assert (heights[0] >= TOP, heights[-1] <= HEIGHT - BOTTOM) == (True, True)


@pytest.mark.parametrize(
    ("lines", "along"),
    [({}, [0, 12]), ({"A": [1.0]}, [0]), ({"A": [1.0]}, [0, 12]), ({"A": [1.0, -1.0]}, [0, 12])],
)
def test_what_cannot_be_drawn_is_refused(lines: dict[str, list[float]], along: list[int]) -> None:
    with pytest.raises(BadInput):
        line_chart(lines, along=along, every=12)

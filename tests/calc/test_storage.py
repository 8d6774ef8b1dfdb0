"""Whole days of storage, by hand."""

from datetime import date

import pytest

from shopapp.calc.storage import Stay, days_stored


def june(day: int) -> date:
    return date(2026, 6, day)


@pytest.mark.parametrize(
    ("stays", "free", "days"),
    [
        # told on the 2nd, looked at on the 10th: the 3rd to the 9th
        ([(1, None)], 0, 7),
        ([(1, None)], 3, 4),
        ([(1, None)], 7, 0),
        ([(1, None)], 30, 0),
        # home from the 4th to the 7th: both days on the way are free, the 3rd, 8th and 9th are left
        ([(1, 4), (7, None)], 0, 3),
        # gone before it was told
        ([(1, 2)], 0, 0),
        # came back after the telling
        ([(5, None)], 0, 4),
        ([], 0, 0),
    ],
)
def test_days_at_home_are_not_stored(stays: list[tuple[int, int | None]], free: int, days: int) -> None:
    spans = [Stay(since=june(since), until=june(until) if until else None) for since, until in stays]

    assert days_stored(spans, told=june(2), until=june(10), free=free) == days


def test_nothing_is_stored_on_the_day_of_the_telling() -> None:
    stay = Stay(since=june(1), until=None)

    assert [days_stored([stay], told=june(5), until=june(day), free=0) for day in (4, 5, 6, 7)] == [
        0,
        0,
        0,
        1,
    ]

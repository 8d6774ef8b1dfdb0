"""Stretches of one person: they never overlap, they add up, and hours of the clock's changes are true.

Changes of the clock: Canada's Pacific time went from 3:00 to 2:00 on 2 November 2025 and from 2:00 to 3:00 on
8 March 2026 (IANA time zone database, America/Vancouver, 2025b).
"""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.clocking import Stretch, ends, is_forgotten, whole_minutes

ZONE = ZoneInfo("America/Vancouver")
START = datetime(2026, 6, 2, 15, 0, tzinfo=UTC)


def at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def stretch(number: int, on: float, off: float | None = None) -> Stretch:
    return Stretch(mark=UUID(int=number), on_at=at(on), off_at=at(off) if off is not None else None)


def told(*stretches: Stretch) -> list[float | None]:
    """Minutes from the start at which each ended, in the order of their marks."""
    found = ends(stretches)
    return [
        (end - START).total_seconds() / 60 if end is not None else None
        for _mark, end in sorted(found.items())
    ]


def test_stretch_ends_by_word_or_by_the_next_one() -> None:
    assert told() == []
    assert told(stretch(1, 0)) == [None]
    assert told(stretch(1, 0, 30)) == [30]
    assert told(stretch(1, 0), stretch(2, 45)) == [45, None]
    assert told(stretch(1, 0, 30), stretch(2, 45, 60)) == [30, 60]
    # a word that comes after the next one began says nothing any more
    assert told(stretch(1, 0, 50), stretch(2, 45, 60)) == [45, 60]
    # off before on, by a clock that jumped: no time at all, never less
    assert told(stretch(1, 10, 5)) == [10]
    assert told(stretch(1, 10), stretch(2, 10, 20)) == [10, 20]


@given(st.lists(st.tuples(st.integers(0, 5000), st.none() | st.integers(0, 5000)), max_size=12), st.randoms())
def test_no_two_stretches_overlap_in_whatever_order(told: list[tuple[int, int | None]], rng: object) -> None:
    stretches = [
        stretch(number, on / 7, off / 7 if off is not None else None) for number, (on, off) in enumerate(told)
    ]
    mixed = list(stretches)
    rng.shuffle(mixed)

    found = ends(mixed)

    assert found == ends(stretches)
    spans = sorted((one.on_at, found[one.mark] or at(10_000)) for one in stretches)
    assert all(end <= begin for (_on, end), (begin, _end) in pairwise(spans))
    assert all(end >= on for on, end in spans)


@given(st.lists(st.floats(0, 700), min_size=2, max_size=12))
def test_minutes_of_stretches_in_a_row_add_up(moments: list[float]) -> None:
    marks = [at(one) for one in sorted(moments)]

    parts = [whole_minutes(on, until=off) for on, off in pairwise(marks)]

    assert sum(parts) == whole_minutes(marks[0], until=marks[-1])
    assert abs(sum(parts) - (marks[-1] - marks[0]).total_seconds() / 60) < 1


@pytest.mark.parametrize(
    ("on", "off", "minutes"),
    [
        # T29: the hour from 1:00 to 2:00 comes twice
        (datetime(2025, 11, 2, 0, 30, tzinfo=ZONE), datetime(2025, 11, 2, 3, 0, tzinfo=ZONE), 210),
        # and the one from 2:00 to 3:00 not at all
        (datetime(2026, 3, 8, 1, 30, tzinfo=ZONE), datetime(2026, 3, 8, 3, 30, tzinfo=ZONE), 60),
        (datetime(2025, 11, 2, 1, 30, tzinfo=ZONE), datetime(2025, 11, 2, 1, 30, tzinfo=ZONE, fold=1), 60),
    ],
)
def test_hours_over_a_change_of_the_clock_are_true_t29(on: datetime, off: datetime, minutes: int) -> None:
    assert whole_minutes(on, until=off) == minutes


@pytest.mark.parametrize(
    ("on", "off", "forgotten"),
    [
        ((8, 0), (17, 0), False),
        ((8, 0), (20, 0), False),
        ((8, 0), (20, 1), True),
        ((22, 0), (24, 0), False),
        ((22, 0), (24, 1), True),
        ((8, 0), (8, 0), False),
    ],
)
def test_clock_over_midnight_or_twelve_hours_is_forgotten(
    on: tuple[int, int], off: tuple[int, int], forgotten: bool
) -> None:
    day = datetime(2026, 6, 2, tzinfo=ZONE).astimezone(UTC)
    began, ended = (day + timedelta(hours=hours, minutes=minutes) for hours, minutes in (on, off))

    assert is_forgotten(began, until=ended, zone=ZONE) is forgotten

"""Clocks on the wall over both changes, against the moments that really pass there."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from shopapp.calc.clock import LeftOut, left_out_at, moment_of

STEP, DAY = timedelta(minutes=10), timedelta(days=1)
# an hour at two, at one, at midnight; half an hour; a whole day, when Samoa crossed the date line;
# summer time that is taken back for a month
CHANGES = [
    ("America/Vancouver", "2026-03-08"),
    ("America/Vancouver", "2026-11-01"),
    ("Europe/London", "2026-03-29"),
    ("Europe/London", "2026-10-25"),
    ("America/Havana", "2026-03-08"),
    ("America/Havana", "2026-11-01"),
    ("Australia/Lord_Howe", "2026-10-04"),
    ("Australia/Lord_Howe", "2026-04-05"),
    ("Pacific/Apia", "2011-12-30"),
    ("Africa/Casablanca", "2026-02-15"),
]


def around(day: str) -> Iterator[datetime]:
    """Every ten minutes from the day before until the day after."""
    begin = datetime.fromisoformat(day) - DAY
    return (begin + STEP * number for number in range(3 * 24 * 6))


@pytest.mark.parametrize(("name", "day"), CHANGES)
def test_every_time_is_a_moment_or_left_out_t29(name: str, day: str) -> None:
    zone = ZoneInfo(name)
    passed: dict[datetime, list[datetime]] = {}
    for one in around(day):
        moment = one.replace(tzinfo=UTC)
        passed.setdefault(moment.astimezone(zone).replace(tzinfo=None), []).append(moment)
    walls = [wall for wall in around(day) if min(passed) <= wall <= max(passed)]

    for wall in walls:
        moments = passed.get(wall, [])
        assert (left_out_at(wall, zone=zone) is None) == bool(moments), wall
        if moments:
            assert moment_of(wall, zone=zone) == moments[0]
            assert moment_of(wall, zone=zone, now=moments[-1]) == moments[-1]
            assert moment_of(wall, zone=zone, now=moments[-1] - STEP) == moments[0]

    # an hour of one kind or the other there is in each
    assert {len(passed.get(wall, [])) for wall in walls} - {1}


@pytest.mark.parametrize(
    ("name", "wall", "begins", "ends"),
    [
        ("America/Vancouver", "2026-03-08T02:00", "2026-03-08T02:00", "2026-03-08T03:00"),
        ("America/Vancouver", "2026-03-08T02:59", "2026-03-08T02:00", "2026-03-08T03:00"),
        ("America/Havana", "2026-03-08T00:30", "2026-03-08T00:00", "2026-03-08T01:00"),
        ("Australia/Lord_Howe", "2026-10-04T02:15", "2026-10-04T02:00", "2026-10-04T02:30"),
        ("Pacific/Apia", "2011-12-30T12:00", "2011-12-30T00:00", "2011-12-31T00:00"),
    ],
)
def test_what_is_left_out_is_named_t29(name: str, wall: str, begins: str, ends: str) -> None:
    left_out = left_out_at(datetime.fromisoformat(wall), zone=ZoneInfo(name))

    assert left_out == LeftOut(begins=datetime.fromisoformat(begins), ends=datetime.fromisoformat(ends))

"""The demo's calendar: days before today, and today's hours folded behind now."""

from datetime import UTC, datetime, timedelta

import pytest

from shopapp.management.demo.moments import Calendar

NOW = datetime(2026, 3, 9, 7, 20, tzinfo=UTC)


def calendar() -> Calendar:
    return Calendar(now=NOW, zone="America/Vancouver")


def test_days_before_today_have_the_clock_of_the_shop() -> None:
    # the clocks went forward in the night to the 8th of March, so the offset is another on the 7th
    assert calendar().moment("-2 14:20") == datetime(2026, 3, 7, 22, 20, tzinfo=UTC)
    assert calendar().moment("-1 14:20") == datetime(2026, 3, 8, 21, 20, tzinfo=UTC)


def test_today_lies_behind_now_and_after_yesterday() -> None:
    steps = [calendar().moment(text) for text in ("-1 18:00", "0 08:00", "0 12:00", "0 18:00")]

    assert steps == sorted(steps)
    assert NOW - timedelta(hours=1) < steps[-1] < NOW


@pytest.mark.parametrize("text", ["1 10:00", "-3 07:59", "-3 18:01"])
def test_steps_outside_the_working_day_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not between"):
        calendar().moment(text)

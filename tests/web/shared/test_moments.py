"""Moments typed by hand: the shop's own clock, over both of its changes."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError

from shopapp.web.shared.moments import MomentField

NOT_SO = "This is not a day and a time. Write it like 2026-06-30 14:30."
LEFT_OUT = (
    "The clock is put forward from 02:00 to 03:00, so this time does not come. "
    "Write a time before 02:00, or 03:00 or later."
)


def field(*, now: datetime | None = None) -> MomentField:
    one = MomentField()
    one.zone, one.now = ZoneInfo("America/Vancouver"), now
    return one


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("typed", "moment"),
    [
        ("2026-06-02T14:30", "2026-06-02T21:30"),
        (" 2026-06-02 14:30 ", "2026-06-02T21:30"),
        ("2026-06-02T14:30:00", "2026-06-02T21:30"),
        ("2026-03-08T01:59", "2026-03-08T09:59"),
        ("2026-03-08T03:00", "2026-03-08T10:00"),
        # the hour that comes twice: the first, so that a call is made in time
        ("2026-11-01T01:30", "2026-11-01T08:30"),
        ("2026-11-01T02:00", "2026-11-01T10:00"),
    ],
)
def test_moment_is_read_by_the_shops_clock_t29(typed: str, moment: str) -> None:
    found = field().clean(typed)

    assert (found, found.tzinfo) == (at(moment), UTC)


@pytest.mark.parametrize(
    ("now", "moment"),
    [
        # still in the first of both hours; in the second, before and after that time came again; days later
        ("2026-11-01T08:45", "2026-11-01T08:30"),
        ("2026-11-01T09:15", "2026-11-01T08:30"),
        ("2026-11-01T09:30", "2026-11-01T09:30"),
        ("2026-11-03T12:00", "2026-11-01T09:30"),
    ],
)
def test_what_has_happened_is_the_last_that_has_passed_t29(now: str, moment: str) -> None:
    assert field(now=at(now)).clean("2026-11-01T01:30") == at(moment)


def test_moment_that_was_filled_in_comes_back_the_same_t29() -> None:
    for minute in range(0, 240, 7):
        now = datetime(2026, 11, 1, 7 + minute // 60, minute % 60, tzinfo=UTC)
        one = field(now=now)
        shown = one.widget.format_value(one.prepare_value(now))

        assert one.clean(shown) == now


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("2026-03-08T02:00", LEFT_OUT),
        ("2026-03-08 02:59", LEFT_OUT),
        ("tomorrow", NOT_SO),
        ("2026-06-31T10:00", NOT_SO),
        ("2026-06-02T14:30+02:00", NOT_SO),
        ("2026-06-02T14:30Z", NOT_SO),
        ("9999-12-31T23:59", NOT_SO),
        ("２０２６-06-02T14:30", NOT_SO),
    ],
)
def test_what_is_no_moment_says_what_would_be_t29(typed: str, sentence: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        field().clean(typed)

    assert refusal.value.messages == [sentence]

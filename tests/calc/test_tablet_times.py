"""When a tablet's entry happened: its clock put right, kept within what is possible; worked by hand."""

from datetime import UTC, datetime, timedelta

import pytest

from shopapp.calc.tablet_times import Happened, TabletTime, happened

RECEIVED = datetime(2026, 6, 2, 20, 0, tzinfo=UTC)
ENROLLED = RECEIVED - timedelta(hours=3)


def minutes(count: float) -> timedelta:
    return timedelta(minutes=count)


def told(*, ago: float, ahead: float | None, sent: float = 0) -> Happened:
    """An entry so many minutes before the receipt by the tablet's clock, which is `sent` minutes slow now."""
    at, sent_at = RECEIVED - minutes(ago), RECEIVED - minutes(sent)
    known = minutes(ahead) if ahead is not None else None
    return happened(
        TabletTime(at=at, ahead=known, sent_at=sent_at), enrolled_at=ENROLLED, received_at=RECEIVED
    )


@pytest.mark.parametrize(
    ("ago", "ahead", "sent", "happened_ago", "off"),
    [
        # both clocks agree
        (30, 0, 0, 30, 0),
        # the tablet is ten minutes slow, knew it, and still is
        (40, 10, 10, 30, 0),
        # it never spoke to the shop before: what it is behind by now counts
        (40, None, 10, 30, 0),
        # it was set ten minutes forward since, so what it noted then is doubtful
        (40, 10, 0, 30, 10),
        # before the tablet was enrolled, and after the receipt: kept within, by how much is said
        (187, 0, 0, 180, 7),
        (-7, 0, 0, 0, 7),
    ],
)
def test_moment_is_put_right_and_kept_within_the_possible(
    ago: float, ahead: float | None, sent: float, happened_ago: float, off: float
) -> None:
    found = told(ago=ago, ahead=ahead, sent=sent)

    assert found == Happened(at=RECEIVED - minutes(happened_ago), off=minutes(off))


def test_more_than_five_minutes_is_for_a_person_to_look_at() -> None:
    assert [told(ago=-off, ahead=0).is_doubtful for off in (4.9, 5, 5.1)] == [False, False, True]

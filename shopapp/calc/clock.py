"""Which moment it is when a clock on the wall shows this: one hour is left out, another comes twice.

Both readings of an hour that comes twice are told apart by ``fold`` (PEP 495).
"""

from bisect import bisect_left
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """The times that a clock never shows, because it is put forward from the one to the other."""

    begins: datetime
    ends: datetime


def left_out_at(wall: datetime, *, zone: ZoneInfo) -> LeftOut | None:
    """What the clock of a place leaves out around this time; none where it does show it."""
    before, after = (_offset(wall, zone=zone, fold=fold) for fold in (0, 1))
    if after <= before:
        return None
    # in UTC the jump lies between both readings of what never came
    early, seconds = wall - after, range(int((after - before).total_seconds()) + 1)
    jump = early + timedelta(seconds=bisect_left(seconds, after, key=lambda s: _then(early, s, zone=zone)))
    return LeftOut(begins=jump + before, ends=jump + after)


def _offset(wall: datetime, *, zone: ZoneInfo, fold: int) -> timedelta:
    return wall.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta()


def _then(early: datetime, seconds: int, *, zone: ZoneInfo) -> timedelta:
    moment = (early + timedelta(seconds=seconds)).replace(tzinfo=UTC)
    return moment.astimezone(zone).utcoffset() or timedelta()


def moment_of(wall: datetime, *, zone: ZoneInfo, now: datetime | None = None) -> datetime:
    """The moment in UTC at which the clock of a place shows this; the clock must show it at all.

    Of an hour that comes twice it is the first, so that whoever promises something by then is in time. With
    ``now`` it is about something that has happened: the last of both that is not still to come.

    Always in UTC: two moments of one zone would be compared, and taken from each other, by their clocks.
    """
    first, second = (wall.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return second if now is not None and second <= now else first

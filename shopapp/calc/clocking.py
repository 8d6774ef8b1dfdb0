"""A person's clock: a stretch ends when they say so or clock on to something else, whichever comes first.

Whole minutes are counted from minute to minute of the clock, so that the minutes of stretches that follow
each other add up to those of the whole: common practice, no source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import zip_longest
from uuid import UUID
from zoneinfo import ZoneInfo

# longer than that nobody is on one thing: the clock was forgotten (the shop's own rule, common practice)
LONGEST_STRETCH = timedelta(hours=12)
MINUTE = 60


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """When a person clocked on, under which mark, and when they said that they clocked off, if they did."""

    mark: UUID
    on_at: datetime
    off_at: datetime | None = None


def ends(stretches: Iterable[Stretch]) -> dict[UUID, datetime | None]:
    """When each stretch of one person ended; None for the one that still runs. No two of them overlap.

    It depends on what was said, never on the order in which it reached the shop. Two that begin at the same
    moment follow each other by their marks, the first of them without any time.
    """
    ordered = sorted(stretches, key=lambda one: (one.on_at, one.mark))
    followers = zip_longest(ordered, (one.on_at for one in ordered[1:]))
    return {one.mark: end_of(one, next_on=after) for one, after in followers}


def end_of(stretch: Stretch, *, next_on: datetime | None) -> datetime | None:
    """The end of one stretch, given when the same person next clocked on to something."""
    said = [moment for moment in (stretch.off_at, next_on) if moment is not None]
    return max(min(said), stretch.on_at) if said else None


def whole_minutes(on_at: datetime, *, until: datetime) -> int:
    """The minutes between two moments, each cut to its minute; both know their zones, so hours are true."""
    return int(until.timestamp()) // MINUTE - int(on_at.timestamp()) // MINUTE


def is_forgotten(on_at: datetime, *, until: datetime, zone: ZoneInfo) -> bool:
    """Whether somebody forgot to clock off: over twelve hours, or over midnight of the shop's place."""
    is_long = until - on_at > LONGEST_STRETCH
    last = (until - timedelta(microseconds=1)).astimezone(zone).date()
    return is_long or (until > on_at and last != on_at.astimezone(zone).date())

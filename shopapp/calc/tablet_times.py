"""When something happened that a tablet wrote down without the server: its clock put right, and how far off.

The tablet notes how far the server's clock was ahead when they last spoke; common practice, no source.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

# a disagreement above this is for a person to look at
MOST_OFF = timedelta(minutes=5)


@dataclass(frozen=True, kw_only=True)
class TabletTime:
    """The tablet's time of an entry, its offset as noted then, and the tablet's time when it sent it.

    `ahead` is the server's clock minus the tablet's; None where they had not spoken since it was set up.
    """

    at: datetime
    ahead: timedelta | None
    sent_at: datetime


@dataclass(frozen=True, kw_only=True)
class Happened:
    """The moment, within what is possible, and by how much the clocks disagreed about it."""

    at: datetime
    off: timedelta

    @property
    def is_doubtful(self) -> bool:
        """Whether a person should look at it."""
        return self.off > MOST_OFF


def happened(told: TabletTime, *, enrolled_at: datetime, received_at: datetime) -> Happened:
    """The tablet's time put right by its offset and kept within [enrolment, receipt].

    The disagreement is the larger of what the bounds cut off and of how far the offset has moved since: a
    clock that was set meanwhile makes every earlier entry doubtful. All moments know their zone.
    """
    ahead_now = received_at - told.sent_at
    ahead = told.ahead if told.ahead is not None else ahead_now
    reckoned = told.at + ahead
    kept = min(max(reckoned, enrolled_at), received_at)
    return Happened(at=kept, off=max(abs(reckoned - kept), abs(ahead_now - ahead)))

"""When the steps of the demo happen: written as days before today, so that the story is always fresh."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

OPENING, CLOSING = time(8, 0), time(18, 0)
# today's working day is folded into the hours before now, so that nothing happens in the future
TODAY_LASTS, TODAY_ENDS = timedelta(hours=5), timedelta(minutes=4)
NOT_AT_WORK = "The step “%s” is not between 8:00 and 18:00 of a day that has come."


class Calendar:
    """The days of the story, seen from the moment at which the demo is made."""

    def __init__(self, *, now: datetime, zone: str) -> None:
        self.now, self.zone = now, ZoneInfo(zone)
        self.today = now.astimezone(self.zone).date()

    def moment(self, text: str) -> datetime:
        """``-3 14:20``: twenty past two, three days ago; on day ``0`` the hours are folded behind now."""
        days, clock = text.split()
        at = time.fromisoformat(clock)
        if int(days) > 0 or not OPENING <= at <= CLOSING:
            raise ValueError(NOT_AT_WORK % text)
        if int(days) == 0:
            return self._folded(at)
        return datetime.combine(self.day(int(days)), at, tzinfo=self.zone)

    def day(self, days: int) -> date:
        """The day so many days from today."""
        return self.today + timedelta(days=days)

    def due(self, text: str) -> datetime:
        """``1 10:00``: ten o'clock tomorrow; for what is still to be done."""
        days, clock = text.split()
        return datetime.combine(self.day(int(days)), time.fromisoformat(clock), tzinfo=self.zone)

    def _folded(self, at: time) -> datetime:
        share = (_minutes(at) - _minutes(OPENING)) / (_minutes(CLOSING) - _minutes(OPENING))
        return self.now - TODAY_LASTS + share * (TODAY_LASTS - TODAY_ENDS)


def _minutes(at: time) -> int:
    return at.hour * 60 + at.minute

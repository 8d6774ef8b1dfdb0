"""How many days a boat is stored for: whole days it stood here after its owner was told that it is ready.

A day on which the boat was away for any time counts not at all. Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Stay:
    """From the day a boat came to the day it left; ``until`` is None while it is here."""

    since: date
    until: date | None


def days_stored(stays: Sequence[Stay], *, told: date, until: date, free: int) -> int:
    """Days to charge: after the day of the telling and before ``until``, less the free ones.

    Days on which the boat came or left are days on the way, and free.
    """
    days = (told + ONE_DAY * number for number in range(1, (until - told).days))
    return max(sum(any(_stands(stay, day) for stay in stays) for day in days) - free, 0)


def _stands(stay: Stay, day: date) -> bool:
    return stay.since < day and (stay.until is None or day < stay.until)

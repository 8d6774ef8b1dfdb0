"""Counts tries to get in before they are judged, in a store that all workers share.

So ten requests at once have no more tries than ten in a row.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.models import MissCount


@dataclass(frozen=True, kw_only=True)
class Limit:
    """How many misses something named (a place, a name, a browser) may have within a time."""

    key: str
    most: int
    within: timedelta


@dataclass(frozen=True, kw_only=True)
class Wait:
    """Too many misses: how long to wait, and what counted them if nobody was told of it yet."""

    lasts: timedelta
    news: MissCount | None


@transaction.atomic
def begin_try(limits: Sequence[Limit], *, by: Actor) -> Wait | None:
    """Count a try against each limit; where one is full, count nothing and say how long to wait.

    Locks the limits' rows in the order of their keys. A try that was counted and turned out well is taken
    back by ``forgive_try``; if the power fails in between it stays counted as a miss.
    """
    rows = _rows(limits, at=by.at)
    full = [(limit, row) for limit in limits if (row := rows[limit.key]).misses >= limit.most]
    if full:
        lasts = max(row.since_at + limit.within - by.at for limit, row in full)
        return Wait(lasts=lasts, news=_told_once([row for _limit, row in full]))
    for row in rows.values():
        row.misses += 1
        row.save(update_fields=["since_at", "misses", "is_told"])
    return None


@transaction.atomic
def forgive_try(limits: Sequence[Limit], *, by: Actor) -> None:
    """Take the count of a try back that turned out well; other people's misses stay counted."""
    for row in _rows(limits, at=by.at).values():
        row.misses = max(row.misses - 1, 0)
        row.save(update_fields=["since_at", "misses", "is_told"])


def _rows(limits: Sequence[Limit], *, at: datetime) -> dict[str, MissCount]:
    within = {limit.key: limit.within for limit in limits}
    fresh = [MissCount(address=key, since_at=at) for key in sorted(within)]
    MissCount.objects.bulk_create(fresh, ignore_conflicts=True)
    rows = {
        row.address: row for row in locked(MissCount.objects.filter(address__in=within)).order_by("address")
    }
    for key, row in rows.items():
        # a clock that went back would otherwise make people wait for hours
        if not row.since_at <= at < row.since_at + within[key]:
            row.since_at, row.misses, row.is_told = at, 0, False
    return rows


def _told_once(rows: Sequence[MissCount]) -> MissCount | None:
    news = [row for row in rows if not row.is_told]
    for row in news:
        row.is_told = True
        row.save(update_fields=["is_told"])
    return news[0] if news else None

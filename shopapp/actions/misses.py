"""Counts links that lead nowhere, by the place they are tried from, in a store that all workers share."""

from datetime import timedelta

from django.db import transaction

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.models import MissCount
from shopapp.queries.misses import MANY, MOST_MISSES, WITHIN, is_guessing, place_of

# somebody who goes on guessing is told of once, until a day has been quiet
QUIET = timedelta(days=1)


def note_miss(address: str, *, by: Actor) -> bool:
    """Count a link that leads nowhere; returns whether this place has had its number of them.

    Only misses are counted and only misses are turned away: a customer with a good link on the same network
    as somebody who guesses is let in. The limit-th miss is told once in the activity chain. Locks the
    place's row, last the chain head; misses beyond the limit write nothing, so that a flood of them keeps
    nobody else waiting. If the power fails the last of them may not be counted.
    """
    if is_guessing(address, at=by.at):
        return True
    return _counted(address, by=by)


@transaction.atomic
def _counted(address: str, *, by: Actor) -> bool:
    place = place_of(address)
    MissCount.objects.bulk_create([MissCount(address=place, since_at=by.at)], ignore_conflicts=True)
    row = locked(MissCount.objects.filter(address=place)).get()
    if row.since_at <= by.at - WITHIN:
        row.is_told = row.is_told and by.at - row.since_at < QUIET
        row.since_at, row.misses = by.at, 0
    if row.misses >= MOST_MISSES:
        return True
    row.misses += 1
    is_full = row.misses >= MOST_MISSES
    is_news = is_full and not row.is_told
    row.is_told = row.is_told or is_full
    row.save(update_fields=["since_at", "misses", "is_told"])
    if is_news:
        facts: Payload = {"address": place, "misses": row.misses}
        activity.record([Entry(verb=MANY, record=row, facts=facts)], by=by)
    return False

"""Good and bad sign-ins: limited before they are judged, and written down, never with the password."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from django.db import transaction

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.tries import Limit, Wait, begin_try, forgive_try
from shopapp.models import BrowserSession, MissCount, Person
from shopapp.queries.misses import place_of

# a shop has one address for all its people, so a place may miss more often than a name
MOST_OF_A_PLACE, MOST_OF_A_NAME, MOST_CODES = 30, 10, 5
WITHIN = timedelta(minutes=15)


@dataclass(frozen=True, kw_only=True)
class Knock:
    """Somebody at the door: which name, from which address, in which browser (``""``: never seen before).

    A browser in which this very person once signed in is counted by itself. So whoever tries the owner's
    name from elsewhere can keep other strangers' browsers waiting, but never the owner's own.
    """

    name: str
    address: str
    known: str = ""


def password_limits(knock: Knock) -> tuple[Limit, ...]:
    """What a try with a password counts against."""
    if knock.known:
        return (Limit(key=_key("browser", knock.known), most=MOST_OF_A_NAME, within=WITHIN),)
    place = Limit(key=f"sign-in place {place_of(knock.address)}", most=MOST_OF_A_PLACE, within=WITHIN)
    return (place, Limit(key=_key("name", knock.name), most=MOST_OF_A_NAME, within=WITHIN))


def code_limits(knock: Knock) -> tuple[Limit, ...]:
    """What a try with a code counts against; whoever tries one has the password."""
    what = f"{knock.name} {knock.known}"
    return (Limit(key=_key("code", what), most=MOST_CODES, within=WITHIN),)


def _key(kind: str, what: str) -> str:
    # unknown and known names alike, and no name in plain: people type a password into the wrong field
    return f"sign-in {kind} {hashlib.sha256(what.encode(errors='replace')).hexdigest()[:40]}"


def knocked(limits: Sequence[Limit], *, knock: Knock, by: Actor) -> timedelta | None:
    """Count a try; where there were too many, how long to wait. The first time that is told in the chain."""
    wait = begin_try(limits, by=by)
    if wait is None:
        return None
    _tell(wait, knock=knock, by=by)
    return wait.lasts


def _tell(wait: Wait, *, knock: Knock, by: Actor) -> None:
    if wait.news is not None:
        facts: Payload = {"address": place_of(knock.address), "misses": wait.news.misses}
        with transaction.atomic():
            activity.record([Entry(verb="many wrong sign-ins", record=wait.news, facts=facts)], by=by)


@transaction.atomic
def note_miss(limits: Sequence[Limit], *, knock: Knock, step: str, by: Actor) -> None:
    """Write down a sign-in that did not fit: the person if the name is one, and the place.

    A name that nobody has is not written: it may be a password. Locks the chain head alone. If the power
    fails the try is counted all the same.
    """
    person = Person.objects.filter(username=knock.name).first()
    record = person or MissCount.objects.get(address=limits[0].key)
    facts: Payload = {"address": place_of(knock.address), "step": step}
    activity.record([Entry(verb="miss sign-in", record=record, facts=facts)], by=by)


@transaction.atomic
def note_sign_in(person: Person, *, knock: Knock, by: Actor) -> None:
    """Write down who is signed in and from where; sessions of anybody that ran out are swept on the way."""
    BrowserSession.objects.filter(expire_date__lt=by.at).delete()
    facts: Payload = {"address": place_of(knock.address), "known": bool(knock.known)}
    activity.record([Entry(verb="sign in", record=person, facts=facts)], by=by)


def forgive(limits: Sequence[Limit], *, by: Actor) -> None:
    """The try was a good one: it does not count as a miss."""
    forgive_try(limits, by=by)

"""Sign-ins end before their time: by the person, by the owner, or with the person's leaving."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.devices import end_stays_of, end_tablets
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed
from shopapp.models import BrowserSession, Person, Shop


@transaction.atomic
def end_session(code: str, *, by: Actor) -> None:
    """End one sign-in, of one's own or, for the owner, anybody's: its next request is signed out.

    Locks the session's row, last the chain head. One that has ended already is no fault.
    """
    row = locked(BrowserSession.objects.filter(code=code, person__isnull=False)).first()
    if row is None:
        return
    person = Person.objects.get(browser_sessions=row)
    _refuse_others(person.pk, by=by)
    row.delete()
    activity.record([Entry(verb="end session", record=person, facts={"ended": 1})], by=by)


@transaction.atomic
def end_sessions(person_pk: int, *, by: Actor, keep: str = "") -> int:
    """End all sign-ins of a person, but the one that is kept; returns how many ended.

    Locks the sessions' rows, last the chain head; a second sender ends none. Nothing to end leaves no trace.
    """
    _refuse_others(person_pk, by=by)
    person = Person.objects.get(pk=person_pk)
    ended = forget_sessions(person_pk, keep=keep)
    if ended:
        activity.record([Entry(verb="end session", record=person, facts={"ended": ended})], by=by)
    return ended


@dataclass(frozen=True, kw_only=True)
class Ended:
    """How many sign-ins and tablets have ended."""

    sessions: int
    tablets: int


@transaction.atomic
def end_all(*, by: Actor) -> Ended:
    """End every sign-in and every tablet of the shop, as a restored backup needs it.

    A backup holds the sign-ins of its day, and a tablet that was lost and ended since: with a tablet and six
    digits somebody would be in. Locks sessions and tablets, last the chain head; a second sender ends none,
    and nothing to end leaves no trace. If the power fails, all of it or nothing. For commands alone.
    """
    if by.scope != Scope.SYSTEM:
        raise NotAllowed(_("Only a command on the shop's own machine ends everything."))
    sessions = BrowserSession.objects.all().delete()[0]
    ended = Ended(sessions=sessions, tablets=end_tablets(by=by))
    if ended.sessions or ended.tablets:
        facts: Payload = {"sessions": ended.sessions, "tablets": ended.tablets}
        activity.record([Entry(verb="end all sign-ins", record=Shop.objects.get(), facts=facts)], by=by)
    return ended


def forget_sessions(person_pk: int, *, keep: str = "") -> int:
    """Take the rows away, inside another action's transaction; whoever asks with one is signed out.

    So is the person by PIN at any tablet, which is no sign-in and not in the count.
    """
    end_stays_of(person_pk)
    rows = BrowserSession.objects.filter(person=person_pk).exclude(code=keep)
    return rows.delete()[0]


def _refuse_others(person_pk: int, *, by: Actor) -> None:
    if by.person is not None and not by.person.is_owner and by.person.pk != person_pk:
        raise NotAllowed(_("Only the owner ends other people's sign-ins."))

"""An answer that nobody signed: told by telephone or email, and written down with all that proves it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.actor import Actor
from shopapp.actions.approvals import LONGEST_NAME, settle
from shopapp.actions.quote_drafts import lock_revision
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import SPOKEN, AnswerHow, Approval, Person

LONGEST_NUMBER = 120
LONGEST_RELATION = 60
LONGEST_WORK = 2000
# clocks of a desk and a server differ a little
CLOCKS_DIFFER = timedelta(minutes=2)


@dataclass(frozen=True, kw_only=True)
class SpokenInput:
    """What was told: by whom, when, under which number or address; choice id → option id or ``None``.

    ``relation`` says what the person is to the owner of the boat. ``extra_work`` says in words what was
    agreed; left empty it becomes the titles of what was chosen. Amounts are the server's.
    """

    how: AnswerHow
    is_declined: bool
    chosen: Mapping[int, int | None]
    spoken_with: str
    number: str
    spoken_at: datetime
    relation: str = ""
    extra_work: str = ""
    reason: str = ""
    wants_parts_back: bool | None = None


@transaction.atomic
def record_spoken(revision_pk: int, data: SpokenInput, *, by: Actor) -> Approval:
    """Write down what a customer answered by telephone or email to a sent revision, and move its jobs on.

    The answer counts from when it was told; who wrote it down and when stands beside it, and all of it is
    in the hash. See ``approvals.settle`` for what is compared and written. Locks the work order, the
    revision, last the chain head: of several senders, and of a customer who signs at the same moment, the
    first answers and the others are refused. If the power fails, either the answer is there with everything
    that follows from it, or the quote is still open. Raises NotAllowed, Refused, BadInput.
    """
    person = desk_person(by)
    revision = lock_revision(revision_pk)
    told_at = moment_told(
        data.spoken_at,
        earliest=revision.sent_at or by.at,
        by=by,
        accepted=_("a time after this quote was sent"),
    )
    answer = unsigned_answer(data, person=person, told_at=told_at, by=by)
    entries = settle(revision, answer, chosen=None if data.is_declined else data.chosen, by=by)
    activity.record(entries, by=by)
    return answer


def unsigned_answer(data: SpokenInput, *, person: Person, told_at: datetime, by: Actor) -> Approval:
    """The answer as it was told, not saved; the amounts come with ``settle``. Raises BadInput."""
    if data.how not in SPOKEN:
        accepted = ", ".join(str(how.label) for how in SPOKEN)
        raise BadInput("how", data.how, accepted)
    return Approval(
        how=data.how,
        signed_name=_text("spoken_with", data.spoken_with, most=LONGEST_NAME, is_needed=True),
        called_number=_text("number", data.number, most=LONGEST_NUMBER, is_needed=True),
        relation=_text("relation", data.relation, most=LONGEST_RELATION),
        extra_work=_text("extra_work", data.extra_work, most=LONGEST_WORK),
        reason=data.reason,
        decided_at=told_at,
        recorded_by=person,
        recorded_at=by.at,
        wants_parts_back=data.wants_parts_back,
    )


def _text(field: str, text: str, *, most: int, is_needed: bool = False) -> str:
    text = text.strip()
    if len(text) > most or (is_needed and not text):
        raise BadInput(field, text[:40], _("a few words, in at most %(most)d letters") % {"most": most})
    return text


def moment_told(told_at: datetime, *, earliest: datetime, by: Actor, accepted: str) -> datetime:
    """When it was told, between ``earliest`` and now; people give the minute only.

    Raises BadInput (``spoken_at``), with ``accepted`` for a time that is too early.
    """
    if told_at > by.at + CLOCKS_DIFFER:
        raise BadInput("spoken_at", told_at.isoformat(), _("a time that has passed"))
    if told_at < earliest.replace(second=0, microsecond=0):
        raise BadInput("spoken_at", told_at.isoformat(), accepted)
    return min(max(told_at, earliest), by.at)

"""What a customer asks about a quote, and what the shop says to it."""

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.locks import locked
from shopapp.actions.quote_drafts import lock_revision
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import CustomerLink, Question, RevisionState

LONGEST = 1000
# a link is open to whoever holds it, so that nobody fills the shop's disk through it
MOST = 20


@transaction.atomic
def ask_question(revision_pk: int, text: str, *, by: Actor) -> Question:
    """Keep what a customer asks about the sent revision that their link leads to; it decides nothing.

    Locks the work order, the revision, last the chain head; two senders both get their question kept, up to
    twenty a quote. If the power fails, either the question and its record are there or nothing. Raises
    NotAllowed, Refused, BadInput (``text``).
    """
    link = _link_of(by)
    revision = lock_revision(revision_pk)
    now = CustomerLink.objects.get(pk=link.pk)
    if not access.link_reaches(now, revision):
        raise NotAllowed(_("This link does not lead to this quote."))
    if revision.state != RevisionState.SENT or now.revoked_at is not None or now.expires_at <= by.at:
        raise Refused(_("This quote is not open any more. Please call the shop."))
    if Question.objects.filter(revision__quote=revision.quote).count() >= MOST:
        raise Refused(_("You have asked a lot already. Please call the shop."))
    question = Question.objects.create(revision=revision, link=now, text=_words("text", text), asked_at=by.at)
    entry = Entry(verb="ask question", record=question, work_order=revision.quote.work_order)
    activity.record([entry], by=by)
    return question


@transaction.atomic
def answer_question(question_pk: int, text: str, *, version: int, by: Actor) -> Question:
    """Write what the shop says to a question, if nobody else did since ``version``; it may be written anew.

    Locks the work order, the revision, last the chain head. A second sender with the same version gets
    Stale and writes nothing. If the power fails, all of it is there or nothing. Raises NotAllowed,
    BadInput (``answer``), Stale.
    """
    person = desk_person(by)
    revision = lock_revision(Question.objects.values_list("revision_id", flat=True).get(pk=question_pk))
    question = locked(Question.objects.filter(pk=question_pk)).get()
    changes = {"answer": _words("answer", text), "answered_at": by.at, "answered_by": person}
    saved = versions.save_edit(question, version=version, changes=changes)
    entry = Entry(verb="answer question", record=saved, work_order=revision.quote.work_order)
    activity.record([entry], by=by)
    return saved


def _link_of(by: Actor) -> CustomerLink:
    if by.scope != Scope.LINK or by.link is None:
        raise NotAllowed(_("Only the customer asks here, behind a link of their own."))
    return by.link


def _words(field: str, text: str) -> str:
    words = text.strip()
    if not words or len(words) > LONGEST:
        raise BadInput(field, words[:40], _("a few sentences, in at most 1,000 letters"))
    return words

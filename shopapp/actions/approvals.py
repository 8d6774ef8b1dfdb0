"""The customer's answer: on exactly what was shown, once, for the total of exactly what was chosen."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.approvers import require_within_limit
from shopapp.actions.links import revoke_links
from shopapp.actions.quote_drafts import lock_revision
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.signatures import checked_strokes
from shopapp.actions.stages import DECLINED, move_job
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_minor
from shopapp.documents.canonical import canonical, digest
from shopapp.documents.quotes import signed_digest
from shopapp.models import (
    SPOKEN,
    AnswerHow,
    Approval,
    ApprovedChoice,
    CustomerLink,
    Decision,
    Job,
    LinkPurpose,
    Outcome,
    QuoteChoice,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
    Way,
)
from shopapp.queries.approvals import agreed_besides
from shopapp.queries.frozen_sums import chosen_totals
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import (
    Content,
    content_from_rows,
    figures,
    revision_rows,
    stored_content,
)

LONGEST_NAME = 120
ANSWERED = "answer quote"


@dataclass(frozen=True, kw_only=True)
class DecisionInput:
    """What a customer sends: choice id → option id, or ``None`` for "not now"; a name; maybe a drawing.

    Nothing here carries money: amounts are the server's. A declined quote takes "not now" for every job.
    ``wants_parts_back`` is ``None`` where the shop does not offer replaced parts back.
    """

    is_declined: bool
    chosen: Mapping[int, int | None]
    signed_name: str
    strokes: str = ""
    reason: str = ""
    address: str | None = None
    device: str = ""
    wants_parts_back: bool | None = None


@transaction.atomic
def decide(revision_pk: int, data: DecisionInput, *, by: Actor) -> Approval:
    """Write the answer of a customer behind a link to a sent revision and move its jobs on.

    See ``settle`` for what is written and compared. Locks the work order, the revision, last the chain
    head: of a hundred senders the first answers, the others are refused. If the power fails, either the
    answer is there with everything that follows from it, or the quote is still open. Raises NotAllowed,
    Refused, BadInput.
    """
    link = _link_of(by)
    revision = lock_revision(revision_pk)
    _require_door(revision, link=link, by=by)
    is_theirs = link.purpose == LinkPurpose.PHONE
    answer = Approval(
        how=AnswerHow.LINK if is_theirs else AnswerHow.SIGNED_HERE,
        signed_name=name_given(data.signed_name),
        strokes=checked_strokes(data.strokes),
        reason=data.reason,
        decided_at=by.at,
        # whoever hands the tablet over sees it signed; nobody of the shop is there when a phone is
        witness=None if is_theirs else link.created_by,
        address=data.address,
        device=printable(data.device)[:300],
        wants_parts_back=data.wants_parts_back,
    )
    entries = settle(revision, answer, chosen=None if data.is_declined else data.chosen, by=by)
    activity.record(entries, by=by)
    return answer


def settle(
    revision: QuoteRevision,
    answer: Approval,
    *,
    chosen: Mapping[int, int | None] | None,
    by: Actor,
    moves_jobs: bool = True,
) -> list[Entry]:
    """Write an answer to a (locked) revision with all that follows from it; returns what to record.

    ``answer`` holds who answers, how and when, and is not saved yet; ``chosen`` is ``None`` for no to
    everything. What is approved is what was shown: the content is rebuilt from the rows and must say what
    was stored when it was sent; only words of the program may differ, and the stored ones count. The chain
    gets the hash of the answer and of the drawing. A supplement adds to what was agreed, so its answer
    moves no job; nor does one whose caller moves the job. Raises Refused, BadInput.
    """
    _require_open(revision, at=answer.decided_at)
    rows = revision_rows(revision.pk)
    content = _content_as_shown(rows)
    options = _chosen(rows, chosen)
    _fill(answer, revision=revision, chosen=options, content=content)
    require_within_limit(answer, work_order=revision.quote.work_order)
    _save(answer, chosen=options)
    QuoteRevision.objects.filter(pk=revision.pk).update(state=RevisionState.DECIDED)
    revision.state = RevisionState.DECIDED
    revoke_links([revision.pk], by=by)
    work_order = revision.quote.work_order
    entry = Entry(verb=ANSWERED, record=revision, facts=_told(answer), work_order=work_order)
    if revision.quote.is_supplement or not moves_jobs:
        return [entry]
    choices = rows.choices.all()
    return [entry, *(_move(choice, option=options[choice.pk], revision=revision) for choice in choices)]


def _told(approval: Approval) -> Payload:
    told: dict[str, str | int | bool | None] = {
        "decision": approval.decision,
        "with_tax_minor": approval.with_tax_minor,
        "signed_sha256": approval.signed_sha256,
        "strokes_sha256": digest(approval.strokes),
    }
    return told if approval.how == AnswerHow.SIGNED_HERE else told | {"how": str(approval.how)}


def _link_of(by: Actor) -> CustomerLink:
    if by.scope != Scope.LINK or by.link is None:
        raise NotAllowed(_("Only the customer answers a quote, behind a link of their own."))
    return by.link


def _require_door(revision: QuoteRevision, *, link: CustomerLink, by: Actor) -> None:
    now = CustomerLink.objects.get(pk=link.pk)
    if not access.link_reaches(now, revision):
        raise NotAllowed(_("This link does not lead to this quote."))
    if revision.state in (RevisionState.REPLACED, RevisionState.DECIDED):
        return
    if now.revoked_at is not None or now.expires_at <= by.at:
        raise Refused(_("This link is no longer in force. Please ask the shop for a new one."))


def _require_open(revision: QuoteRevision, *, at: datetime) -> None:
    if revision.state == RevisionState.REPLACED:
        raise Refused(_("This quote was replaced by a newer one. Please ask the shop for the newer one."))
    if revision.state == RevisionState.DECIDED:
        raise Refused(_("This quote is answered already."))
    if revision.state != RevisionState.SENT:
        raise Refused(_("This quote was not sent yet. Send it first."))
    if revision.valid_until_date is None or local_day(the_shop(), at) > revision.valid_until_date:
        raise Refused(_("The prices of this quote have run out. Please ask the shop for a new one."))


def _content_as_shown(revision: QuoteRevision) -> Content:
    """What was shown, once the rows still show the same (T35); a better word for a label is no change."""
    is_kept = digest(revision.shown) == revision.shown_sha256
    content = stored_content(revision) if is_kept else {}
    if not is_kept or canonical(figures(content_from_rows(revision))) != canonical(figures(content)):
        raise Refused(
            _("The shop changed something since it sent this quote. Please ask the shop to send it again.")
        )
    return content


def _chosen(
    revision: QuoteRevision, wanted: Mapping[int, int | None] | None
) -> dict[int, QuoteOption | None]:
    """Choice id → option; every choice has exactly one answer, each option belongs to its choice."""
    choices = list(revision.choices.all())
    if wanted is None:
        return dict.fromkeys((choice.pk for choice in choices), None)
    strange = sorted(set(wanted) - {choice.pk for choice in choices})
    if strange:
        raise BadInput("choice", strange[0], _("a choice of this quote"))
    return {choice.pk: _option_of(choice, wanted) for choice in choices}


def _option_of(choice: QuoteChoice, wanted: Mapping[int, int | None]) -> QuoteOption | None:
    field = f"choice-{choice.pk}"
    if choice.pk not in wanted:
        raise BadInput(field, "", _("one of the options, or not now"))
    pk = wanted[choice.pk]
    option = next((one for one in choice.options.all() if one.pk == pk), None)
    if pk is not None and option is None:
        raise BadInput(field, pk, _("one of the options, or not now"))
    return option


def _fill(
    answer: Approval,
    *,
    revision: QuoteRevision,
    chosen: Mapping[int, QuoteOption | None],
    content: Content,
) -> None:
    """The amounts of exactly what was chosen; where nobody signed, also what it all comes to then."""
    options = [option for option in chosen.values() if option is not None]
    totals = chosen_totals(content, options=[option.pk for option in options])
    currency = content["facts"]["rules"]["currency"]
    answer.revision = revision
    # whoever answers "not now" for everything has declined
    answer.decision = Decision.APPROVED if options else Decision.DECLINED
    answer.without_tax_minor = to_minor(totals.without_tax, currency=currency)
    answer.with_tax_minor = to_minor(totals.with_tax, currency=currency)
    if answer.decision == Decision.DECLINED:
        answer.extra_work, answer.wants_parts_back = "", None
    elif answer.how in SPOKEN:
        answer.extra_work = answer.extra_work or "; ".join(option.title for option in options)
        answer.extra_minor = answer.without_tax_minor
        answer.new_total_minor = agreed_besides(revision) + answer.without_tax_minor


def _save(answer: Approval, *, chosen: Mapping[int, QuoteOption | None]) -> None:
    picked = {choice: option.pk if option is not None else None for choice, option in chosen.items()}
    answer.signed_sha256 = signed_digest(answer, chosen=picked)
    answer.save(force_insert=True)
    ApprovedChoice.objects.bulk_create(
        [ApprovedChoice(approval=answer, choice_id=pk, option=option) for pk, option in chosen.items()]
    )


def name_given(text: str) -> str:
    """The name of whoever answers. Raises BadInput (``signed_name``)."""
    name = text.strip()
    if not name or len(name) > LONGEST_NAME:
        raise BadInput("signed_name", name, _("your name, in at most 120 letters"))
    return name


def printable(text: str) -> str:
    """What a browser says of itself, without what no database takes: NUL and its like."""
    return "".join(char for char in text if char.isprintable())


def _move(choice: QuoteChoice, *, option: QuoteOption | None, revision: QuoteRevision) -> Entry:
    """To the line when something is to be done; else the job is declined and the boat ready to go."""
    work_order = revision.quote.work_order
    if option is not None and option.way != Way.LEAVE:
        return move_job(choice.job, Stage.IN_LINE, work_order=work_order)
    Job.objects.filter(pk=choice.job_id).update(outcome=Outcome.DECLINED)
    return move_job(choice.job, Stage.READY, work_order=work_order, why=DECLINED)

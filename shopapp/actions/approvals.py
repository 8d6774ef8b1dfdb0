"""The customer's answer: on exactly what was shown, once, for the total of exactly what was chosen."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor, Scope
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
    Approval,
    ApprovedChoice,
    CustomerLink,
    Decision,
    Job,
    Outcome,
    QuoteChoice,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
    Way,
)
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import (
    Content,
    chosen_totals,
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
    """

    is_declined: bool
    chosen: Mapping[int, int | None]
    signed_name: str
    strokes: str = ""
    reason: str = ""
    address: str | None = None
    device: str = ""


@transaction.atomic
def decide(revision_pk: int, data: DecisionInput, *, by: Actor) -> Approval:
    """Write the customer's answer to a sent revision and move its jobs on.

    What is approved is what was shown: the content is rebuilt from the rows and must say what was stored
    when it was sent; only words of the program may differ, and the stored ones count. The chain gets the
    hash of the signed answer and of the drawing. Locks the work order, the revision, last the chain head:
    of a hundred senders the first answers, the others are refused. If the power fails, either the answer is
    there with everything that follows from it, or the quote is still open. Raises NotAllowed, Refused,
    BadInput.
    """
    link = _link_of(by)
    revision = lock_revision(revision_pk)
    _require_open(revision, link=link, by=by)
    rows = revision_rows(revision_pk)
    content = _content_as_shown(rows)
    chosen = _chosen(rows, data)
    approval = _write(revision, data, chosen=chosen, content=content, by=by)
    QuoteRevision.objects.filter(pk=revision.pk).update(state=RevisionState.DECIDED)
    revoke_links([revision.pk], by=by)
    work_order = revision.quote.work_order
    moves = [_move(choice, option=chosen[choice.pk], revision=revision) for choice in rows.choices.all()]
    entry = Entry(verb=ANSWERED, record=revision, facts=_told(approval), work_order=work_order)
    activity.record([entry, *moves], by=by)
    return approval


def _told(approval: Approval) -> Payload:
    return {
        "decision": approval.decision,
        "with_tax_minor": approval.with_tax_minor,
        "signed_sha256": approval.signed_sha256,
        "strokes_sha256": digest(approval.strokes),
    }


def _link_of(by: Actor) -> CustomerLink:
    if by.scope != Scope.LINK or by.link is None:
        raise NotAllowed(_("Only the customer answers a quote, behind a link of their own."))
    return by.link


def _require_open(revision: QuoteRevision, *, link: CustomerLink, by: Actor) -> None:
    now = CustomerLink.objects.get(pk=link.pk)
    if not access.link_reaches(now, revision):
        raise NotAllowed(_("This link does not lead to this quote."))
    if revision.state == RevisionState.REPLACED:
        raise Refused(_("This quote was replaced by a newer one. Please ask the shop for the newer one."))
    if revision.state == RevisionState.DECIDED:
        raise Refused(_("This quote is answered already."))
    if revision.state != RevisionState.SENT or now.revoked_at is not None or now.expires_at <= by.at:
        raise Refused(_("This link is no longer in force. Please ask the shop for a new one."))
    if revision.valid_until_date is None or local_day(the_shop(), by.at) > revision.valid_until_date:
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


def _chosen(revision: QuoteRevision, data: DecisionInput) -> dict[int, QuoteOption | None]:
    """Choice id → option; every choice has exactly one answer, each option belongs to its choice."""
    choices = list(revision.choices.all())
    if data.is_declined:
        return dict.fromkeys((choice.pk for choice in choices), None)
    strange = sorted(set(data.chosen) - {choice.pk for choice in choices})
    if strange:
        raise BadInput("choice", strange[0], _("a choice of this quote"))
    return {choice.pk: _option_of(choice, data) for choice in choices}


def _option_of(choice: QuoteChoice, data: DecisionInput) -> QuoteOption | None:
    field = f"choice-{choice.pk}"
    if choice.pk not in data.chosen:
        raise BadInput(field, "", _("one of the options, or not now"))
    wanted = data.chosen[choice.pk]
    option = next((one for one in choice.options.all() if one.pk == wanted), None)
    if wanted is not None and option is None:
        raise BadInput(field, wanted, _("one of the options, or not now"))
    return option


def _write(
    revision: QuoteRevision,
    data: DecisionInput,
    *,
    chosen: Mapping[int, QuoteOption | None],
    content: Content,
    by: Actor,
) -> Approval:
    options = [option.pk for option in chosen.values() if option is not None]
    totals, currency = chosen_totals(content, options=options), content["facts"]["rules"]["currency"]
    picked = {choice: option.pk if option is not None else None for choice, option in chosen.items()}
    approval = Approval(
        revision=revision,
        # whoever answers "not now" for everything has declined
        decision=Decision.APPROVED if options else Decision.DECLINED,
        without_tax_minor=to_minor(totals.without_tax, currency=currency),
        with_tax_minor=to_minor(totals.with_tax, currency=currency),
        signed_name=_signed_name(data),
        strokes=checked_strokes(data.strokes),
        reason=data.reason,
        decided_at=by.at,
        witness=_link_of(by).created_by,
        address=data.address,
        device=_printable(data.device)[:300],
    )
    approval.signed_sha256 = signed_digest(approval, chosen=picked)
    approval.save(force_insert=True)
    ApprovedChoice.objects.bulk_create(
        [ApprovedChoice(approval=approval, choice_id=pk, option=option) for pk, option in chosen.items()]
    )
    return approval


def _signed_name(data: DecisionInput) -> str:
    name = data.signed_name.strip()
    if not name or len(name) > LONGEST_NAME:
        raise BadInput("signed_name", name, _("your name, in at most 120 letters"))
    return name


def _printable(text: str) -> str:
    """What a browser says of itself, without what no database takes: NUL and its like."""
    return "".join(char for char in text if char.isprintable())


def _move(choice: QuoteChoice, *, option: QuoteOption | None, revision: QuoteRevision) -> Entry:
    """To the line when something is to be done; else the job is declined and the boat ready to go."""
    work_order = revision.quote.work_order
    if option is not None and option.way != Way.LEAVE:
        return move_job(choice.job, Stage.IN_LINE, work_order=work_order)
    Job.objects.filter(pk=choice.job_id).update(outcome=Outcome.DECLINED)
    return move_job(choice.job, Stage.READY, work_order=work_order, why=DECLINED)

"""Start now, by phone yes: one call agrees to one piece of work, which begins at once."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, numbering, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.approvals import settle
from shopapp.actions.jobs import lock_job, stage_word
from shopapp.actions.quote_drafts import LineInput, OptionInput, line_values, lock_revision, option_values
from shopapp.actions.quotes import freeze
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.spoken_answers import SpokenInput, moment_told, unsigned_answer
from shopapp.actions.stages import move_job
from shopapp.calc.errors import BadInput
from shopapp.models import (
    AnswerHow,
    Approval,
    Job,
    LineKind,
    PriceKind,
    Quote,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Stage,
    Unit,
    Way,
)
from shopapp.queries.approvals import approved_option, latest_answer_at
from shopapp.queries.job_rules import may_start_now

LONGEST_WHAT = 80


@dataclass(frozen=True, kw_only=True)
class StartNowInput:
    """What the customer agreed to on the telephone (or by email), for at most how much without tax.

    ``kind`` says what it mostly is, because the tax follows from it. ``relation`` says what the person is
    to the owner of the boat.
    """

    what: str
    at_most: Decimal
    spoken_with: str
    number: str
    spoken_at: datetime
    kind: LineKind = LineKind.LABOUR
    how: AnswerHow = AnswerHow.PHONE
    relation: str = ""


@transaction.atomic
def start_now(job_pk: int, data: StartNowInput, *, by: Actor) -> Approval:
    """Write down a yes that came by telephone to one piece of work on a job, and begin with it.

    In one step: a quote with one option and one line, sent, answered with all its facts, and the job in
    hand. A job that nobody agreed to yet gets the amount as its ceiling; on one that is agreed it is extra
    work, in the way that job is priced. Locks the work order, the job, the number series, last the chain
    head. A second sender writes a second call down, unless it carries the same request key. If the power
    fails, all of this is there or nothing. Raises NotAllowed, Refused, BadInput.
    """
    desk_person(by)
    job = lock_job(job_pk, by=by)
    agreed = approved_option(job)
    _require_startable(job, is_agreed=agreed is not None)
    told_at = moment_told(
        data.spoken_at,
        earliest=latest_answer_at(job) or job.work_order.opened_at,
        by=by,
        accepted=_("a time after the boat came in and after the customer's last answer about this job"),
    )
    answer = unsigned_answer(_told(data), person=desk_person(by), told_at=told_at, by=by)
    if agreed is None:
        Job.objects.filter(pk=job.pk).update(price_kind=PriceKind.CEILING)
    option = _draft(job, data, agreed=agreed, by=by)
    draft = lock_revision(option.choice.revision_id)
    sent, entries = freeze(draft, version=1, by=by, moves_jobs=False)
    sent.quote = draft.quote
    entries += settle(sent, answer, chosen={option.choice_id: option.pk}, by=by, moves_jobs=False)
    activity.record([*entries, *_begun(job)], by=by)
    return answer


def _require_startable(job: Job, *, is_agreed: bool) -> None:
    if job.stage == Stage.WITH_CUSTOMER:
        raise Refused(
            _("The customer has a quote that asks about this job. Open it and write the answer down there.")
        )
    if not may_start_now(job, is_agreed=is_agreed):
        raise Refused(_("Nothing can be started on this job: it is at “%s”.") % stage_word(job))


def _told(data: StartNowInput) -> SpokenInput:
    return SpokenInput(
        how=data.how,
        is_declined=False,
        chosen={},
        spoken_with=data.spoken_with,
        number=data.number,
        spoken_at=data.spoken_at,
        relation=data.relation,
        extra_work=data.what,
    )


def _draft(job: Job, data: StartNowInput, *, agreed: QuoteOption | None, by: Actor) -> QuoteOption:
    """One option with one line; extra work is under the same warranty as the work it belongs to."""
    words, price = _words(data, agreed=agreed), _price(data, by=by)
    quote = Quote.objects.create(
        work_order=job.work_order, number=numbering.take_number("quote"), is_supplement=agreed is not None
    )
    search_texts.index(quote)
    revision = QuoteRevision.objects.create(quote=quote, revision=1, created_at=by.at)
    choice = QuoteChoice.objects.create(revision=revision, job=job)
    option = QuoteOption.objects.create(choice=choice, position=1, **option_values(words))
    QuoteLine.objects.create(option=option, position=1, **line_values(price, by=by))
    return option


def _words(data: StartNowInput, *, agreed: QuoteOption | None) -> OptionInput:
    what = data.what.strip()
    if not what or len(what) > LONGEST_WHAT:
        raise BadInput("what", what[:40], _("what is done, in at most 80 letters"))
    if agreed is None:
        return OptionInput(way=Way.MEND, title=what)
    return OptionInput(
        way=Way.MEND,
        title=what,
        warranty_months=agreed.warranty_months,
        warranty_covers=agreed.warranty_covers,
    )


def _price(data: StartNowInput, *, by: Actor) -> LineInput:
    if data.at_most <= 0:
        raise BadInput("at_most", data.at_most, _("an amount above 0, without tax"))
    return LineInput(
        kind=data.kind,
        description=data.what.strip(),
        quantity=Decimal(1),
        unit=Unit.EACH,
        unit_price=data.at_most,
    )


def _begun(job: Job) -> list[Entry]:
    if job.stage == Stage.IN_HAND:
        return []
    return [move_job(job, Stage.IN_HAND, work_order=job.work_order)]

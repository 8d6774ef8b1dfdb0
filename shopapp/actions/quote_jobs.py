"""What a quote asks about: it is begun for chosen jobs, as an offer or as a supplement; jobs come and go."""

from collections.abc import Collection, Sequence

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from shopapp.actions import activity, numbering, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.quote_drafts import (
    OptionInput,
    keep_removed,
    lock_draft,
    option_values,
    record_change,
    revision_of,
    still_there,
)
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.models import Job, Quote, QuoteChoice, QuoteOption, QuoteRevision, RevisionState, Way, WorkOrder
from shopapp.queries.quote_jobs import standing_of
from shopapp.queries.quotes import free_ways
from shopapp.queries.shop import the_shop


@transaction.atomic
def start_supplement(work_order_pk: int, *, jobs: Collection[int], by: Actor) -> QuoteRevision:
    """A draft that asks for extra work on these agreed jobs; what was agreed stays, whatever comes of it.

    Locks the work order, the number series, last the chain head; a second sender of the same jobs gets the
    same draft. If the power fails, either the whole draft is there or nothing, its number unused. Refused
    for a job that nobody agreed to, that is finished, or that another open quote asks about.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    draft = open_draft(work_order, is_supplement=True, jobs=jobs)
    if draft is not None:
        return draft
    fitting = require_fitting(work_order, jobs, is_supplement=True)
    return begin_quote(work_order, fitting, is_supplement=True, by=by)


@transaction.atomic
def add_job(revision_pk: int, job_pk: int, *, by: Actor) -> QuoteChoice:
    """Let a draft ask about one more job of its visit.

    Locks the work order, the revision, last the chain head; a second sender is refused: the job is in the
    quote. If the power fails, either the question and its record are there or nothing.
    """
    revision = lock_draft(revision_pk, by=by)
    quote = revision.quote
    job = require_fitting(quote.work_order, [job_pk], is_supplement=quote.is_supplement)[0]
    choice = _ask_about(job, revision=revision)
    record_change("add job to quote", revision, revision=revision, by=by, facts={"job": job.position})
    return choice


@transaction.atomic
def leave_job_out(choice_pk: int, *, by: Actor) -> QuoteRevision:
    """Ask no more about a job in this draft; its options and lines can be put back. Returns the revision.

    Locks the work order, the revision, last the chain head; a second sender is refused, and so is who would
    leave the last question out. If the power fails, either all of it is gone and recorded, or nothing is.
    """
    revision = lock_draft(revision_of(QuoteChoice, choice_pk), by=by)
    choice = still_there(QuoteChoice.objects.select_related("job").filter(pk=choice_pk).first())
    if revision.choices.count() == 1:
        raise Refused(_("A quote asks about at least one job. Add the other job first."))
    keep_removed(choice, what=choice.job.complaint, revision=revision, by=by)
    choice.delete()
    facts = {"job": choice.job.position}
    record_change("leave job out of quote", revision, revision=revision, by=by, facts=facts)
    return revision


def open_draft(
    work_order: WorkOrder, *, is_supplement: bool, jobs: Collection[int] | None
) -> QuoteRevision | None:
    """The draft of this (locked) visit that asks about exactly these jobs; the eldest when none are named."""
    drafts = QuoteRevision.objects.filter(
        quote__work_order=work_order, quote__is_supplement=is_supplement, state=RevisionState.DRAFT
    )
    for draft in drafts.select_related("quote").order_by("pk"):
        if jobs is None or set(draft.choices.values_list("job", flat=True)) == set(jobs):
            return draft
    return None


def jobs_to_ask(work_order: WorkOrder) -> list[Job]:
    """Every job of this (locked) visit about which a new quote may ask."""
    standing = standing_of(work_order)
    jobs = Job.objects.filter(work_order=work_order).order_by("position")
    return [job for job in jobs if not standing.obstacle(job, is_supplement=False)]


def require_fitting(
    work_order: WorkOrder, job_pks: Collection[int], *, is_supplement: bool = False
) -> list[Job]:
    """These jobs of the (locked) visit, in order; refused with a sentence about the first unfit one."""
    jobs = list(Job.objects.filter(work_order=work_order, pk__in=job_pks).order_by("position"))
    if not jobs or len(jobs) != len(set(job_pks)):
        raise BadInput(_("jobs"), len(job_pks), _("one or more jobs of this work order"))
    standing = standing_of(work_order)
    for job in jobs:
        if obstacle := standing.obstacle(job, is_supplement=is_supplement):
            raise Refused(obstacle)
    return jobs


def require_still_fitting(draft: QuoteRevision) -> None:
    """Refused when a job of this (locked) draft is agreed, finished or asked about elsewhere since."""
    quote = draft.quote
    elsewhere = standing_of(quote.work_order).but_for(draft)
    for choice in draft.choices.select_related("job").order_by("position", "pk"):
        if obstacle := elsewhere.obstacle(choice.job, is_supplement=quote.is_supplement):
            raise Refused(obstacle)


def begin_quote(
    work_order: WorkOrder, jobs: Sequence[Job], *, by: Actor, is_supplement: bool = False
) -> QuoteRevision:
    """A new quote of this (locked) visit that asks about these jobs, each with a first option to fill."""
    number = numbering.take_number("quote")
    quote = Quote.objects.create(work_order=work_order, number=number, is_supplement=is_supplement)
    search_texts.index(quote)
    revision = QuoteRevision.objects.create(quote=quote, revision=1, created_at=by.at)
    for job in jobs:
        _ask_about(job, revision=revision)
    verb = "start supplement" if is_supplement else "start quote"
    activity.record(
        [Entry(verb=verb, record=revision, facts={"number": number}, work_order=work_order)], by=by
    )
    return revision


def _ask_about(job: Job, *, revision: QuoteRevision) -> QuoteChoice:
    shop = the_shop()
    choice = QuoteChoice.objects.create(
        revision=revision,
        job=job,
        position=job.position,
        season_first_month=shop.season_first_month,
        season_months=shop.season_months,
    )
    title = _("Extra work") if revision.quote.is_supplement else str(Way.MEND.label)
    new_option(choice, OptionInput(way=Way.MEND, title=title))
    return choice


def new_option(choice: QuoteChoice, data: OptionInput) -> QuoteOption:
    """One more option at the end of a (locked) question."""
    last = choice.options.aggregate(last=Max("position"))["last"] or 0
    return QuoteOption.objects.create(choice=choice, position=last + 1, **option_values(data))


def require_place(choice: QuoteChoice, way: str, *, but: QuoteOption | None = None) -> None:
    """Refused when the (locked) question has no place for one more option of this way.

    Three ways stand side by side; "leave it" stands below them, once. ``but`` is the option being changed.
    """
    others = choice.options.exclude(pk=but.pk) if but is not None else choice.options.all()
    # a way that is none has no place to lack: it is told of by its field
    if way not in Way.values or way in free_ways(list(others.values_list("way", flat=True))):
        return
    if way == Way.LEAVE:
        raise Refused(_("“Leave it” stands below the options already."))
    raise Refused(_("A job has at most three options. Change or remove one of them."))

"""Which jobs a quote may ask about: those that are free, agreed, or in another quote already."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from shopapp.models import (
    ApprovedChoice,
    Decision,
    Job,
    Outcome,
    QuoteChoice,
    QuoteRevision,
    RevisionState,
    Stage,
    Way,
    WorkOrder,
)
from shopapp.queries.quote_facts import engine_line
from shopapp.queries.vessels import boat_line

# jobs about which the customer may still be asked what is to be done
ASKABLE = (Stage.HERE, Stage.DIAGNOSIS, Stage.WITH_CUSTOMER)
# agreed jobs to which something may still be added
GROWING = (Stage.HERE, Stage.DIAGNOSIS, Stage.IN_LINE, Stage.IN_HAND, Stage.TEST)
OPEN_REVISIONS = (RevisionState.DRAFT, RevisionState.SENT)


@dataclass(frozen=True, kw_only=True)
class Standing:
    """What the quotes of a visit say about its jobs: which work is agreed, and which are asked about."""

    agreed: frozenset[int]
    asked: Mapping[int, QuoteRevision]

    def obstacle(self, job: Job, *, is_supplement: bool) -> str:
        """Why no new quote (or supplement) can ask about this job; empty when one can. No query."""
        facts = {"job": job.position, "stage": Stage(job.stage).label}
        if job.pk in self.asked:
            return _("Job %(job)s is in quote %(quote)s already.") % {
                **facts,
                "quote": self.asked[job.pk].quote.number,
            }
        if job.outcome != Outcome.OPEN:
            return _("Job %(job)s is closed. Open it again, then ask.") % facts
        return self._obstacle_to_supplement(job) if is_supplement else self._obstacle_to_quote(job)

    def but_for(self, revision: QuoteRevision) -> "Standing":
        """The same without what this revision asks."""
        asked = {job: other for job, other in self.asked.items() if other.pk != revision.pk}
        return replace(self, asked=asked)

    def _obstacle_to_supplement(self, job: Job) -> str:
        facts = {"job": job.position, "stage": Stage(job.stage).label}
        if job.pk not in self.agreed:
            return _("Nothing is agreed for job %(job)s yet. Write a quote for it.") % facts
        if job.stage not in GROWING:
            return _("Job %(job)s is at “%(stage)s”: nothing can be added to it any more.") % facts
        return ""

    def _obstacle_to_quote(self, job: Job) -> str:
        facts = {"job": job.position, "stage": Stage(job.stage).label}
        if job.pk in self.agreed:
            return _("Job %(job)s is agreed. Extra work on it needs a supplement.") % facts
        if job.stage not in ASKABLE:
            return _("Job %(job)s is at “%(stage)s”: it is too late to ask about it.") % facts
        return ""


def standing_of(work_order: WorkOrder) -> Standing:
    """What is agreed and what is asked of a visit; two queries."""
    return Standing(agreed=_agreed(work_order), asked=_asked(work_order))


def _agreed(work_order: WorkOrder) -> frozenset[int]:
    """Jobs whose newest answer to a main offer names work; "leave it" and "not now" are none."""
    answers = ApprovedChoice.objects.filter(
        choice__job__work_order=work_order,
        approval__decision=Decision.APPROVED,
        choice__revision__quote__is_supplement=False,
    )
    rows = answers.order_by("approval__decided_at", "pk").values_list("choice__job", "option__way")
    newest = dict(rows)
    return frozenset(job for job, way in newest.items() if way not in (None, Way.LEAVE))


def _asked(work_order: WorkOrder) -> Mapping[int, QuoteRevision]:
    """Job id → the revision, being written or with the customer, that asks about it."""
    choices = QuoteChoice.objects.filter(
        revision__quote__work_order=work_order, revision__state__in=OPEN_REVISIONS
    )
    rows = choices.select_related("revision__quote").defer("revision__shown").order_by("pk")
    return {choice.job_id: choice.revision for choice in rows}


@dataclass(frozen=True, kw_only=True)
class JobRow:
    """A job with the reasons why it can't be asked about; an empty reason means that it can."""

    pk: int
    title: str
    engine: str
    no_quote: str
    no_supplement: str
    why_neither: str


@dataclass(frozen=True, kw_only=True)
class ChoosePage:
    """The jobs of a visit: which a new quote may ask about, which a supplement may add to, and the rest."""

    work_order_pk: int
    number: str
    boat: str
    for_quote: tuple[JobRow, ...]
    for_supplement: tuple[JobRow, ...]
    others: tuple[JobRow, ...]


def choose_page(work_order: WorkOrder) -> ChoosePage:
    """The page for a visit that was fetched with its vessel and customer; three queries."""
    rows = job_rows(work_order)
    return ChoosePage(
        work_order_pk=work_order.pk,
        number=work_order.number,
        boat=f"{boat_line(work_order.vessel)}, {work_order.customer.name}",
        for_quote=tuple(row for row in rows if not row.no_quote),
        for_supplement=tuple(row for row in rows if not row.no_supplement),
        others=tuple(row for row in rows if row.why_neither),
    )


def job_rows(work_order: WorkOrder) -> tuple[JobRow, ...]:
    """Every job of a visit in order; three queries."""
    standing = standing_of(work_order)
    jobs = Job.objects.filter(work_order=work_order).select_related("engine").order_by("position")
    return tuple(_row(job, standing=standing) for job in jobs)


def _row(job: Job, *, standing: Standing) -> JobRow:
    no_quote = standing.obstacle(job, is_supplement=False)
    no_supplement = standing.obstacle(job, is_supplement=True)
    # of an agreed job only the supplement is worth a word, of any other only the quote
    why = no_supplement if job.pk in standing.agreed else no_quote
    return JobRow(
        pk=job.pk,
        title=_("Job %(job)s: %(complaint)s") % {"job": job.position, "complaint": job.complaint},
        engine=engine_line(job.engine),
        no_quote=no_quote,
        no_supplement=no_supplement,
        why_neither=why if no_quote and no_supplement else "",
    )


@dataclass(frozen=True, kw_only=True)
class AskedRow:
    """A job that a draft asks about."""

    choice: int
    title: str
    engine: str


@dataclass(frozen=True, kw_only=True)
class DraftJobsPage:
    """What a draft asks about, and what else it could ask about."""

    pk: int
    number: str
    is_supplement: bool
    asked: tuple[AskedRow, ...]
    may_leave_out: bool
    free: tuple[JobRow, ...]
    others: tuple[JobRow, ...]


def draft_jobs_page(revision_pk: int) -> DraftJobsPage:
    """The jobs of a draft and of its visit; five queries."""
    revision = QuoteRevision.objects.select_related("quote__work_order").defer("shown").get(pk=revision_pk)
    quote = revision.quote
    choices = revision.choices.select_related("job__engine").order_by("position", "pk")
    asked = {choice.job_id: choice for choice in choices}
    rows = [row for row in job_rows(quote.work_order) if row.pk not in asked]
    free = [row for row in rows if not (row.no_supplement if quote.is_supplement else row.no_quote)]
    return DraftJobsPage(
        pk=revision.pk,
        number=quote.number,
        is_supplement=quote.is_supplement,
        asked=tuple(_asked_row(choice) for choice in asked.values()),
        may_leave_out=len(asked) > 1,
        free=tuple(free),
        others=tuple(row for row in rows if row not in free),
    )


def _asked_row(choice: QuoteChoice) -> AskedRow:
    job = choice.job
    title = _("Job %(job)s: %(complaint)s") % {"job": job.position, "complaint": job.complaint}
    return AskedRow(choice=choice.pk, title=title, engine=engine_line(job.engine))

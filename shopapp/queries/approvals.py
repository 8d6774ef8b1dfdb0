"""What a customer is asked and has agreed to: for a job, and in all for a visit."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import OuterRef, QuerySet, Subquery, Sum

from shopapp.models import (
    Approval,
    ApprovedChoice,
    Decision,
    Intake,
    Job,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    WorkOrder,
)

# job id → the options in force
type Options = Mapping[int, tuple[QuoteOption, ...]]


@dataclass(frozen=True, kw_only=True)
class Authorised:
    """How far the shop may go on a visit, without tax, in the smallest coin.

    ``agreed_minor`` is the sum of the approvals in force, ``limit_minor`` what the signed intake allows
    before the first of them; ``is_limit_on_top`` when the paper says that the limit goes on after it.
    """

    agreed_minor: int
    limit_minor: int
    is_limit_on_top: bool
    is_anything_agreed: bool

    @property
    def total_minor(self) -> int:
        """The limit covers the diagnosis until the first approval; then the approvals take its place."""
        if not self.is_anything_agreed:
            return self.limit_minor
        return self.agreed_minor + (self.limit_minor if self.is_limit_on_top else 0)


def approved_answers(job: Job | OuterRef) -> "QuerySet[ApprovedChoice]":
    """What approvals of the main offer say about a job, the answer in force first.

    Inside a query the job is an OuterRef. Supplements only add, so they are not asked here.
    """
    answers = ApprovedChoice.objects.filter(
        choice__job=job, approval__decision=Decision.APPROVED, choice__revision__quote__is_supplement=False
    )
    return answers.order_by("-approval__decided_at", "-pk")


def approved_option(job: Job) -> QuoteOption | None:
    """The option of the main offer that an approval in force covers for this job. One query."""
    answer = approved_answers(job).select_related("option").first()
    return answer.option if answer is not None else None


def latest_answer_at(job: Job) -> datetime | None:
    """When the customer last answered anything about this job. One query."""
    answers = ApprovedChoice.objects.filter(choice__job=job).order_by("-approval__decided_at")
    return answers.values_list("approval__decided_at", flat=True).first()


def approved_options(jobs: Iterable[Job]) -> Options:
    """Job id → every option in force: of the main offer the newest answer, of each supplement its own.

    One query, whatever the number of jobs. A job nobody agreed to is not in the map.
    """
    answers = ApprovedChoice.objects.filter(choice__job__in=jobs, approval__decision=Decision.APPROVED)
    rows = answers.select_related("option", "choice__revision__quote").order_by("approval__decided_at", "pk")
    main: dict[int, QuoteOption | None] = {}
    extra: dict[int, list[QuoteOption]] = {}
    for row in rows:
        job, option = row.choice.job_id, row.option
        if not row.choice.revision.quote.is_supplement:
            main[job] = option
        elif option is not None:
            extra.setdefault(job, []).append(option)
    found = {
        job: tuple(one for one in (main.get(job), *extra.get(job, ())) if one is not None)
        for job in main.keys() | extra.keys()
    }
    return {job: options for job, options in found.items() if options}


def approved_quotes(work_order: WorkOrder) -> "QuerySet[Approval]":
    """The approvals of a visit, oldest first. Each covers only its own set, so all of them are in force."""
    rows = Approval.objects.filter(revision__quote__work_order=work_order, decision=Decision.APPROVED)
    return rows.order_by("decided_at", "pk")


def authorised(work_order: WorkOrder) -> Authorised:
    """How far the shop may go: sums of what was approved, and the signed spending limit. One query.

    Compared without tax and per work order, for the customer's lines only, since an approval holds exactly
    those.
    """
    approved = Approval.objects.filter(
        revision__quote__work_order=OuterRef("pk"), decision=Decision.APPROVED
    ).order_by()
    sums = approved.values("revision__quote__work_order").annotate(sum=Sum("without_tax_minor"))
    intake = signed_intakes(OuterRef("pk"))
    agreed, limit, is_on_top = (
        WorkOrder.objects.filter(pk=work_order.pk)
        .values_list(
            Subquery(sums.values("sum")),
            Subquery(intake.values("spending_limit_minor")[:1]),
            Subquery(intake.values("limit_comes_on_top")[:1]),
        )
        .get()
    )
    return Authorised(
        agreed_minor=agreed or 0,
        limit_minor=limit or 0,
        is_limit_on_top=bool(is_on_top),
        is_anything_agreed=agreed is not None,
    )


def signed_intakes(work_order: WorkOrder | OuterRef) -> "QuerySet[Intake]":
    """The signed terms of a visit, those in force first. Inside a query the visit is an OuterRef."""
    rows = Intake.objects.filter(work_order=work_order, signed_at__isnull=False)
    return rows.order_by("-signed_at", "-pk")


def signed_intake(work_order: WorkOrder) -> Intake | None:
    """The terms in force: the intake that was signed last. One query."""
    return signed_intakes(work_order).defer("strokes", "shown").first()


def asking_revision(job: Job) -> QuoteRevision | None:
    """The sent revision that asks the customer about this job and is not answered yet. One query."""
    asking = QuoteRevision.objects.filter(choices__job=job, state=RevisionState.SENT)
    return asking.select_related("quote").defer("shown").first()

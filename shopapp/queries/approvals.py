"""What a customer is asked and has agreed to: for a job, and in all for a visit."""

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import F, JSONField, OuterRef, QuerySet, Subquery, Value
from django.db.models.fields.json import KeyTextTransform, KeyTransform
from django.db.models.functions import Cast, NullIf

from shopapp.calc.money import to_minor
from shopapp.models import (
    ApprovedChoice,
    Decision,
    Intake,
    Job,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    WorkOrder,
)
from shopapp.queries.frozen_sums import chosen_totals

# what a signed intake says of the diagnosis fee: ``facts.fee_credit`` of what was shown, else nothing
SHOWN_CREDIT = KeyTextTransform(
    "fee_credit", KeyTransform("facts", Cast(NullIf("shown", Value("")), JSONField()))
)
# what is read of each job in each answer of a visit, all from the work order
_REVISION = "quotes__revisions"
_ANSWER = f"{_REVISION}__approval"
_ANSWERED: Mapping[str, F] = {
    "revision": F(_REVISION),
    "quote_number": F("quotes__number"),
    "is_supplement": F("quotes__is_supplement"),
    "decision": F(f"{_ANSWER}__decision"),
    "decided_at": F(f"{_ANSWER}__decided_at"),
    "recorded_at": F(f"{_ANSWER}__recorded_at"),
    "signed_name": F(f"{_ANSWER}__signed_name"),
    "without_tax_minor": F(f"{_ANSWER}__without_tax_minor"),
    "answered": F(f"{_ANSWER}__choices"),
    "job": F(f"{_ANSWER}__choices__choice__job"),
    "option": F(f"{_ANSWER}__choices__option"),
}

# job id → the options in force
type Options = Mapping[int, tuple[QuoteOption, ...]]


@dataclass(frozen=True, kw_only=True)
class Authorised:
    """How far the shop may go on a visit, without tax, in the smallest coin.

    ``agreed_minor`` is the sum of the approvals in force, ``limit_minor`` what the signed intake allows
    before the first of them; ``is_limit_on_top`` when the paper says that the limit goes on after it.
    ``fee_minor`` is the diagnosis fee of that intake, and ``fee_credit`` what it says of the fee: empty
    where nothing was shown.
    """

    agreed_minor: int
    limit_minor: int
    is_limit_on_top: bool
    is_anything_agreed: bool
    fee_minor: int = 0
    fee_credit: str = ""

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


@dataclass(frozen=True, kw_only=True)
class InForce:
    """What an approval still counts for: its own set, less the jobs that were agreed anew since."""

    quote: str
    decided_at: datetime
    signed_name: str
    without_tax_minor: int


def in_force(
    work_order: WorkOrder,
    *,
    at: datetime | None = None,
    besides: QuoteRevision | None = None,
    answered_anew: Collection[int] = (),
) -> tuple[InForce, ...]:
    """The approvals of a visit that still count, oldest first; one query, two where one counts in part.

    Of main offers only the newest answer of each job counts, so an elder approval is totalled anew, from
    what was shown then, without the jobs that a newer one names; supplements all count. Told as of ``at``
    (an answer by telephone is there once it is written down), without the answer to ``besides``, and as if
    the jobs ``answered_anew`` had a newer answer that is not added here.
    """
    found = [
        row
        for row in _answers(work_order)
        if row["decision"] == Decision.APPROVED
        and (besides is None or row["revision"] != besides.pk)
        and (at is None or (row["recorded_at"] or row["decided_at"]) <= at)
    ]
    return _counted(found, answered_anew=answered_anew)


def _answers(work_order: WorkOrder, **more: Subquery) -> list[dict[str, Any]]:
    """A row for each job in each answer of a visit, oldest first, and at least one. One query."""
    rows = WorkOrder.objects.filter(pk=work_order.pk)
    return list(
        rows.annotate(**_ANSWERED, **more).values(*_ANSWERED, *more).order_by("decided_at", "answered")
    )


def jobs_answered_anew(revision: QuoteRevision) -> frozenset[int]:
    """The jobs whose elder answers an answer to this revision replaces; none for a supplement. One query."""
    if revision.quote.is_supplement:
        return frozenset()
    return frozenset(revision.choices.values_list("job", flat=True))


def agreed_besides(revision: QuoteRevision) -> int:
    """What is agreed on the visit without an answer to this revision, and without what that replaces."""
    found = in_force(revision.quote.work_order, besides=revision, answered_anew=jobs_answered_anew(revision))
    return sum(one.without_tax_minor for one in found)


def _counted(rows: Iterable[dict[str, Any]], *, answered_anew: Collection[int] = ()) -> tuple[InForce, ...]:
    """Approvals with what they still count for; one query when any of them counts in part."""
    by_revision: defaultdict[int, list[dict[str, Any]]] = defaultdict(list)
    newest: dict[int, int | None] = {}
    for row in rows:
        by_revision[row["revision"]].append(row)
        if not row["is_supplement"]:
            newest[row["job"]] = row["revision"]
    newest |= dict.fromkeys(answered_anew)
    kept = {
        pk: [row for row in some if row["is_supplement"] or newest[row["job"]] == pk]
        for pk, some in by_revision.items()
    }
    parts = {
        pk: [row["option"] for row in some] for pk, some in kept.items() if len(some) < len(by_revision[pk])
    }
    totals = _totalled_anew({pk: options for pk, options in parts.items() if any(options)})
    return tuple(
        InForce(
            quote=some[0]["quote_number"],
            decided_at=some[0]["decided_at"],
            signed_name=some[0]["signed_name"],
            without_tax_minor=totals.get(pk, some[0]["without_tax_minor"]),
        )
        for pk, some in kept.items()
        if any(row["option"] for row in some)
    )


def _totalled_anew(parts: Mapping[int, Collection[int]]) -> Mapping[int, int]:
    """Revision id → what these of its options come to by what was shown, without tax. One query."""
    if not parts:
        return {}
    shown = QuoteRevision.objects.filter(pk__in=parts).values_list("pk", "shown")
    # what was shown may have been erased with its customer's data; then the whole answer counts
    contents = {pk: json.loads(text) for pk, text in shown if text}
    return {
        pk: to_minor(
            chosen_totals(content, options=parts[pk]).without_tax,
            currency=content["facts"]["rules"]["currency"],
        )
        for pk, content in contents.items()
    }


def authorised(work_order: WorkOrder) -> Authorised:
    """How far the shop may go: what of the approvals is in force, and the signed spending limit.

    Compared without tax and per work order, for the customer's lines only, since an approval holds exactly
    those. One query, two where an elder approval counts in part.
    """
    intake = signed_intakes(OuterRef("pk"))
    rows = _answers(
        work_order,
        limit_minor=Subquery(intake.values("spending_limit_minor")[:1]),
        is_limit_on_top=Subquery(intake.values("limit_comes_on_top")[:1]),
        fee_minor=Subquery(intake.values("diagnosis_fee_minor")[:1]),
        fee_credit=Subquery(intake.annotate(shown_credit=SHOWN_CREDIT).values("shown_credit")[:1]),
    )
    terms = rows[0]
    agreed = _counted(row for row in rows if row["decision"] == Decision.APPROVED)
    return Authorised(
        agreed_minor=sum(one.without_tax_minor for one in agreed),
        limit_minor=terms["limit_minor"] or 0,
        is_limit_on_top=bool(terms["is_limit_on_top"]),
        is_anything_agreed=bool(agreed),
        fee_minor=terms["fee_minor"] or 0,
        fee_credit=terms["fee_credit"] or "",
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

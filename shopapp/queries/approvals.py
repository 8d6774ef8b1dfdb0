"""What a customer is asked and has agreed to for a job."""

from django.db.models import OuterRef, QuerySet

from shopapp.models import ApprovedChoice, Decision, Job, QuoteOption, QuoteRevision, RevisionState


def approved_answers(job: Job | OuterRef) -> "QuerySet[ApprovedChoice]":
    """What approvals say about a job, the answer in force first; inside a query the job is an OuterRef."""
    answers = ApprovedChoice.objects.filter(choice__job=job, approval__decision=Decision.APPROVED)
    return answers.order_by("-approval__decided_at", "-pk")


def approved_option(job: Job) -> QuoteOption | None:
    """The option that an approval in force covers for this job; the newest answer counts. One query."""
    answer = approved_answers(job).select_related("option").first()
    return answer.option if answer is not None else None


def asking_revision(job: Job) -> QuoteRevision | None:
    """The sent revision that asks the customer about this job and is not answered yet. One query."""
    asking = QuoteRevision.objects.filter(choices__job=job, state=RevisionState.SENT)
    return asking.select_related("quote").defer("shown").first()

"""What is agreed: the option in force for a job."""

from shopapp.models import ApprovedChoice, Decision, Job, QuoteOption


def approved_option(job: Job) -> QuoteOption | None:
    """The option that an approval in force covers for this job; the newest answer counts. One query."""
    answer = (
        ApprovedChoice.objects.filter(choice__job=job, approval__decision=Decision.APPROVED)
        .select_related("option")
        .order_by("-approval__decided_at", "-pk")
        .first()
    )
    return answer.option if answer is not None else None

"""How much of the signed spending limit is left for work that begins before an approval."""

from dataclasses import dataclass

from shopapp.models import Job, WorkOrder
from shopapp.queries.approvals import approved_options, authorised
from shopapp.queries.over_agreed import worth_of_jobs


@dataclass(frozen=True, kw_only=True)
class LimitLeft:
    """The limit in force and what of it is taken, without tax; no limit is in force: both are nothing."""

    limit_minor: int
    taken_minor: int

    @property
    def left_minor(self) -> int:
        """What more may be begun."""
        return max(0, self.limit_minor - self.taken_minor)


def limit_left(work_order: WorkOrder, *, besides: Job | None = None) -> LimitLeft:
    """The limit until the first approval, or on top of it where the paper says so; at most nine queries.

    A job takes the share that was named for it, or what is logged on it once that is more. What an approval
    covers takes nothing of the limit. ``besides``: a job that is left out.
    """
    may = authorised(work_order)
    if not may.limit_minor or (may.is_anything_agreed and not may.is_limit_on_top):
        return LimitLeft(limit_minor=0, taken_minor=0)
    jobs = list(Job.objects.filter(work_order=work_order))
    agreed, worth = approved_options(jobs), worth_of_jobs(work_order)
    taken = sum(
        max(job.limit_share_minor or 0, worth.get(job.pk, 0))
        for job in jobs
        if job.pk not in agreed and (besides is None or job.pk != besides.pk)
    )
    return LimitLeft(limit_minor=may.limit_minor, taken_minor=taken)

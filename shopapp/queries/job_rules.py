"""What may be done with a job where it stands: the ways back, how it may end, whether its work may begin.

Pages ask here what to offer, actions what to refuse, so that both say the same.
"""

from collections.abc import Mapping

from django.db.models import Q, QuerySet

from shopapp import access
from shopapp.models import DECLINED_OUTCOMES, Job, Outcome, Person, QuoteOption, Stage, Way
from shopapp.queries.approvals import approved_option, approved_options, asking_revision

# the ways back that a person may choose, with a reason; a quote is taken back by revising it
BACK: Mapping[str, tuple[Stage, ...]] = {
    Stage.DIAGNOSIS: (Stage.HERE,),
    Stage.IN_LINE: (Stage.DIAGNOSIS,),
    Stage.IN_HAND: (Stage.IN_LINE, Stage.DIAGNOSIS),
    Stage.TEST: (Stage.IN_HAND, Stage.DIAGNOSIS),
    Stage.READY: (Stage.IN_HAND, Stage.DIAGNOSIS),
}
# nobody works on it now, and no quote asks about it
RESTING = (Stage.HERE, Stage.DIAGNOSIS, Stage.IN_LINE)
LEFT_UNDONE = (*DECLINED_OUTCOMES, Outcome.LATER)


def is_work(option: QuoteOption | None) -> bool:
    """Whether the option a customer chose asks for work; "leave it" does not."""
    return option is not None and option.way != Way.LEAVE


def is_covered(job: Job) -> bool:
    """Whether an approval in force covers work on the job. One query."""
    return is_work(approved_option(job))


def ways_back(job: Job, *, viewer: Person, is_agreed: bool) -> tuple[Stage, ...]:
    """Where the job may go back to. ``is_agreed`` comes from ``is_covered``. No query.

    Once a job is ready only the desk sends it back, since the customer may know already. Work goes on only
    on what was agreed, or begun under the spending limit; a job that ended otherwise is looked at anew.
    """
    if job.stage == Stage.READY and not access.may_use_desk(viewer):
        return ()
    return tuple(to for to in BACK.get(job.stage, ()) if _may_go_back(job, to, is_agreed=is_agreed))


def _may_go_back(job: Job, to: Stage, *, is_agreed: bool) -> bool:
    if to == Stage.IN_LINE:
        return is_agreed
    if to == Stage.IN_HAND:
        is_undone = job.stage == Stage.READY and job.outcome != Outcome.DONE
        return not is_undone and (is_agreed or job.limit_share_minor is not None)
    return True


def endings(job: Job, *, viewer: Person) -> tuple[Outcome, ...]:
    """How the job may end without being done, where it stands. No query.

    Whoever looked may say that there is no fault; that the customer does not want it is the desk's to say.
    """
    is_desk = access.may_use_desk(viewer)
    if job.stage == Stage.READY:
        is_undone = job.outcome in LEFT_UNDONE
        return tuple(one for one in LEFT_UNDONE if is_desk and is_undone and one != job.outcome)
    if job.stage not in RESTING:
        return ()
    is_looked_at = job.stage == Stage.DIAGNOSIS
    return ((Outcome.NO_FAULT,) if is_looked_at else ()) + (LEFT_UNDONE if is_desk else ())


def may_waive_test(job: Job, *, viewer: Person) -> bool:
    """Whether this person may let a finished job go without its test. No query."""
    return viewer.is_owner and job.stage == Stage.TEST


def is_price_kind_locked(job: Job) -> bool:
    """Whether the customer has the price kind in words: on a quote that is out, or one they said yes to.

    At most two queries.
    """
    return asking_revision(job) is not None or job.pk in approved_options([job])


def possible_causes(job: Job) -> "QuerySet[Job]":
    """Jobs of earlier visits of the same boat or engine, newest first: one may be where this comes from.

    An earlier visit only, so nothing ever comes from itself, not even round a corner.
    """
    visit = job.work_order
    same = Q(work_order__vessel=visit.vessel_id)
    if job.engine_id is not None:
        same |= Q(engine=job.engine_id)
    earlier = Job.objects.filter(same, work_order__opened_at__lt=visit.opened_at)
    return earlier.exclude(outcome=Outcome.OPEN).order_by("-work_order__opened_at", "position")


def may_start_now(job: Job, *, is_agreed: bool) -> bool:
    """Whether work may begin on a yes by telephone: the first of the job, or extra work on what is agreed.

    No query.
    """
    extra, first = (Stage.IN_LINE, Stage.IN_HAND, Stage.TEST), (Stage.HERE, Stage.DIAGNOSIS, Stage.IN_HAND)
    return job.stage in (extra if is_agreed else first)

"""Jobs on their way: findings are written, diagnosis and work begin, work ends."""

from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shopapp import access
from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import UNDER_LIMIT, lock_work_order, move_job
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_minor
from shopapp.models import CLOSED_STAGES, Job, Outcome, Person, Stage, TestKind, WorkOrder
from shopapp.queries.approvals import asking_revision
from shopapp.queries.job_rules import is_covered
from shopapp.queries.limits import limit_left
from shopapp.queries.over_agreed import worth_of_jobs
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import texts_of
from shopapp.queries.steps import missing_steps

SHOWN_ON_QUOTES = ("complaint", "cause")


@dataclass(frozen=True, kw_only=True)
class FindingsInput:
    """What is wrong in the customer's words, why, what puts it right, and the test that proves it."""

    complaint: str
    cause: str
    correction: str
    test_kind: TestKind


@dataclass(frozen=True, kw_only=True)
class LimitInput:
    """What work under the spending limit will come to at most, without tax."""

    amount: Decimal


def lock_job(pk: int, *, by: Actor) -> Job:
    """The job, locked after its work order (which it carries), for somebody who may work on it.

    Raises NotAllowed for a technician who has no job on this work order.
    """
    work_order_pk = Job.objects.values_list("work_order_id", flat=True).get(pk=pk)
    work_order = lock_visit_of_own(work_order_pk, by=by)
    job = locked(Job.objects.filter(pk=pk)).get()
    job.work_order = work_order
    return job


def lock_visit_of_own(pk: int, *, by: Actor) -> WorkOrder:
    """The work order, locked, for somebody who may work on it; raises NotAllowed for anybody else."""
    work_order = lock_work_order(pk)
    person = person_of(by)
    if not access.may_log_work(person) or not access.may_see_work_order(person, work_order):
        raise NotAllowed(_("Only those who work on this boat may do that."))
    return work_order


def person_of(by: Actor) -> Person:
    """The person who acts; raises NotAllowed for a customer's link."""
    if by.person is None:
        raise NotAllowed(_("Only people of the shop may do that."))
    return by.person


@transaction.atomic
def edit_findings(job_pk: int, data: FindingsInput, *, version: int, by: Actor) -> Job:
    """Write the findings of an open job if nobody else did since ``version``.

    While a sent quote asks the customer about the job, complaint and cause stay as it shows them: other
    words for them are refused until the quote is taken back (``revise_quote``). Locks the work order, the
    job, and last the chain head. A second sender with the same version gets Stale and writes nothing. If
    the power fails, either all of it is there or nothing.
    """
    job = lock_job(job_pk, by=by)
    _require_open(job)
    require_fitting_test(job, data.test_kind)
    if not data.complaint.strip():
        raise BadInput("complaint", data.complaint, _("what the customer says is wrong"))
    saved = versions.save_edit(job, version=version, changes=_changes(job, data))
    facts: Payload = {"test_kind": data.test_kind.value}
    entry = Entry(verb="edit findings", record=saved, facts=facts, work_order=job.work_order)
    activity.record([entry], by=by)
    return saved


def _changes(job: Job, data: FindingsInput) -> dict[str, Any]:
    """What may be written now; refused when that leaves out other words for what the customer reads."""
    changes = asdict(data)
    if asking_revision(job) is None:
        return changes
    shown = {name: changes.pop(name) for name in SHOWN_ON_QUOTES}
    if any(text.strip() != getattr(job, name).strip() for name, text in shown.items()):
        raise Refused(
            _(
                "The customer has a quote that shows complaint and cause, so these two stay as they are. "
                "To change them the desk opens the quote and takes it back."
            )
        )
    return changes


def _require_open(job: Job) -> None:
    if job.stage in CLOSED_STAGES:
        raise Refused(_("This job is closed; its findings stay as they are."))


def require_fitting_test(job: Job, kind: TestKind) -> None:
    """Refuse a kind of test that would unsay what a job has had, or wave it through."""
    if kind == job.test_kind:
        return
    if job.stage == Stage.READY:
        raise BadInput("test_kind", kind.label, _("the test that the job has had: it is ready"))
    if job.stage == Stage.TEST and kind == TestKind.NONE:
        raise BadInput(
            "test_kind", kind.label, _("a real test: the work is finished and waits for its proof")
        )


@transaction.atomic
def start_diagnosis(job_pk: int, *, by: Actor) -> Job:
    """Begin to look at a job that is here.

    Locks the work order, the job, and last the chain head. A second sender is refused: the job has moved
    on. If the power fails, either the move and its record are there or neither.
    """
    job = lock_job(job_pk, by=by)
    if job.stage != Stage.HERE:
        raise Refused(_("A diagnosis starts when the boat is here; this job is at “%s”.") % stage_word(job))
    activity.record([move_job(job, Stage.DIAGNOSIS, work_order=job.work_order)], by=by)
    return job


@transaction.atomic
def start_work(job_pk: int, *, by: Actor) -> Job:
    """Begin the work that the customer agreed to.

    Refused unless an approval in force names an option for the job and it is in line, or was sent back from
    there to be looked at again. Locks the work order, the job, and last the chain head. A second sender is
    refused. If the power fails, all of it or nothing.
    """
    job = lock_job(job_pk, by=by)
    if not is_covered(job):
        raise Refused(_("The customer has not agreed to this work yet. Write and send a quote first."))
    if job.stage not in (Stage.IN_LINE, Stage.DIAGNOSIS):
        raise Refused(_("Work starts from its place in line; this job is at “%s”.") % stage_word(job))
    activity.record([move_job(job, Stage.IN_HAND, work_order=job.work_order)], by=by)
    return job


@transaction.atomic
def start_within_limit(job_pk: int, data: LimitInput, *, by: Actor) -> Job:
    """Begin small work before an approval, under the spending limit that was signed at arrival.

    The desk names what it will come to at most, without tax; that share and what the other jobs take of
    the limit must fit into it. Locks the work order, the job, and last the chain head, so of two who start
    at once the second sees what the first took. A second sender is refused: the job has moved on. If the
    power fails, all of it or nothing.
    """
    desk_person(by)
    job = lock_job(job_pk, by=by)
    if job.stage not in (Stage.HERE, Stage.DIAGNOSIS):
        raise Refused(
            _("Work under the limit starts from the diagnosis; this job is at “%s”.") % stage_word(job)
        )
    share = _share(data.amount)
    left = limit_left(job.work_order, besides=job)
    if not left.limit_minor:
        raise Refused(
            _("No signed spending limit is in force on this visit. Write and send a quote, or call.")
        )
    if share > left.left_minor or worth_of_jobs(job.work_order).get(job.pk, 0) > share:
        money = texts_of(the_shop()).money
        sentence = _("The signed limit is %(limit)s and %(taken)s of it is taken. Ask the customer first.")
        raise Refused(sentence % {"limit": money(left.limit_minor), "taken": money(left.taken_minor)})
    job.limit_share_minor = share
    job.save(update_fields=["limit_share_minor"])
    activity.record([move_job(job, Stage.IN_HAND, work_order=job.work_order, why=UNDER_LIMIT)], by=by)
    return job


def _share(amount: Decimal) -> int:
    if amount <= 0:
        raise BadInput("amount", amount, _("an amount above nought"))
    return to_minor(amount, currency=the_shop().currency)


@transaction.atomic
def finish_work(job_pk: int, *, by: Actor) -> Job:
    """End the work: on to the test, or to ready with outcome done when the job needs no test.

    Without a test each required step is ticked first, or Refused names it. Locks the work order, the job, and
    last the chain head. A second sender is refused. If the power fails, all of it or nothing.
    """
    job = lock_job(job_pk, by=by)
    if job.stage != Stage.IN_HAND:
        raise Refused(_("Only work in hand can be finished; this job is at “%s”.") % stage_word(job))
    if job.test_kind == TestKind.NONE:
        entry = move_job(job, Stage.READY, work_order=job.work_order)
        set_outcome(job, Outcome.DONE)
    else:
        entry = move_job(job, Stage.TEST, work_order=job.work_order)
    activity.record([entry], by=by)
    return job


def set_outcome(job: Job, outcome: Outcome) -> None:
    """Write how a (locked) job ended. Raises Refused for one that is done but for a required step."""
    missing = missing_steps(job) if outcome == Outcome.DONE else ()
    if missing:
        raise Refused(_missing_words(missing))
    job.outcome = outcome
    Job.objects.filter(pk=job.pk).update(outcome=outcome)


def _missing_words(missing: tuple[str, ...]) -> str:
    sentence = ngettext(
        "A required step is not ticked yet: %(steps)s. Tick it, or the owner lets the job go without it.",
        "%(count)s required steps are not ticked yet: %(steps)s. Tick them, or the owner lets the job go "
        "without them.",
        len(missing),
    )
    return sentence % {"count": len(missing), "steps": ", ".join(f"“{one}”" for one in missing)}


def stage_word(job: Job) -> str:
    """The stage of a job as people read it."""
    return str(Stage(job.stage).label)

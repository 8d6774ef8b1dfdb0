"""The test that proves a job: passed, it is ready; failed, it goes back to the bench with the reason."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of, set_outcome, stage_word
from shopapp.actions.refusals import Refused
from shopapp.actions.stages import move_job
from shopapp.calc.errors import BadInput
from shopapp.models import Job, JobTest, Outcome, Stage


@dataclass(frozen=True, kw_only=True)
class RecordTestInput:
    """How it was tested, what was seen, and the verdict."""

    has_passed: bool
    conditions: str = ""
    remarks: str = ""


@transaction.atomic
def record_test(job_pk: int, data: RecordTestInput, *, by: Actor) -> JobTest:
    """Write down a test of the kind the job asks for, and move the job.

    Passed: ready, with outcome done. Failed: back in hand, the remark being the reason (BadInput without
    one). Locks the work order, the job, and last the chain head. A second sender is refused, since the job
    has left its test. If the power fails, the test, the move and their record are there together or not.
    """
    job = lock_job(job_pk, by=by)
    if job.stage != Stage.TEST:
        raise Refused(_("Only finished work is tested; this job is at “%s”.") % stage_word(job))
    if not data.has_passed and not data.remarks.strip():
        raise BadInput("remarks", data.remarks, _("what went wrong: it is the reason the job goes back"))
    test = JobTest.objects.create(
        job=job,
        kind=job.test_kind,
        conditions=data.conditions,
        remarks=data.remarks,
        has_passed=data.has_passed,
        tested_by=person_of(by),
        tested_at=by.at,
    )
    activity.record([_tested(test, job), _moved(job, data)], by=by)
    return test


def _moved(job: Job, data: RecordTestInput) -> Entry:
    if not data.has_passed:
        return move_job(job, Stage.IN_HAND, work_order=job.work_order, why=data.remarks)
    set_outcome(job, Outcome.DONE)
    return move_job(job, Stage.READY, work_order=job.work_order)


def _tested(test: JobTest, job: Job) -> Entry:
    facts: Payload = {"job": job.position, "kind": test.kind, "passed": test.has_passed}
    return Entry(verb="record test", record=test, facts=facts, work_order=job.work_order)

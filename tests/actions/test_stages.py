"""The path of a job: every pair of stages is either a step of the path or refused in a sentence."""

from itertools import product

import pytest

from shopapp.actions.refusals import Refused
from shopapp.actions.stages import least_advanced, lock_work_order, move_job
from shopapp.models import Job, Stage, WorkOrder
from tests.factories import JobFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db

# who may follow whom, written down from the description of the path (what was found goes to the customer,
# with or without a diagnosis; agreed work waits in line, is taken in hand, tested, ready and gone; small work
# begins under the spending limit without a quote; what ends without work is ready at once; only what has not
# gone to the customer is cancelled) and of the ways back (a diagnosis begun by mistake, a quote taken back,
# work laid down again, a failed test, something else found, a job asked about again)
STEPS = """
booked > cancelled
here > diagnosis with_customer in_hand ready cancelled
diagnosis > here with_customer in_hand ready cancelled
with_customer > diagnosis in_line ready
in_line > diagnosis in_hand ready
in_hand > diagnosis in_line test ready
test > diagnosis in_hand ready
ready > diagnosis in_hand gone
gone >
cancelled >
"""
LEGAL = {
    (before, after)
    for line in STEPS.strip().splitlines()
    for before, _, rest in [line.partition(" >")]
    for after in rest.split()
}
ORDER = ["booked", "here", "diagnosis", "with_customer", "in_line", "in_hand", "test", "ready", "gone"]


def job_at(stage: str, **more: object) -> Job:
    """A job in a stage; its visit may end, since the time of leaving is written."""
    work_order = WorkOrderFactory(stage=stage, gone_at="2026-06-01T00:00:00Z")
    return JobFactory(work_order=work_order, stage=stage, **more)


@pytest.mark.parametrize(("before", "after"), sorted(LEGAL))
def test_move_job_goes_along_the_path(before: str, after: str) -> None:
    job = job_at(before)
    work_order = lock_work_order(job.work_order_id)

    entry = move_job(job, Stage(after), work_order=work_order, why="because")

    assert (job.stage, Job.objects.get().stage) == (after, after)
    assert (work_order.stage, WorkOrder.objects.get().stage) == (after, after)
    assert (entry.verb, entry.record, entry.work_order) == ("move job", job, work_order)
    assert entry.facts == {"from": before, "to": after, "why": "because"}


@pytest.mark.parametrize(
    ("before", "after"), [pair for pair in product(Stage.values, repeat=2) if pair not in LEGAL]
)
def test_move_job_refuses_what_is_off_the_path(before: str, after: str) -> None:
    job = job_at(before)
    work_order = lock_work_order(job.work_order_id)

    with pytest.raises(Refused) as caught:
        move_job(job, Stage(after), work_order=work_order)

    came, goes = Stage(before).label, Stage(after).label
    assert caught.value.sentence == f"This job is at “{came}”; it cannot go to “{goes}” from there."
    assert (Job.objects.get().stage, WorkOrder.objects.get().stage) == (before, before)


def test_move_job_trusts_the_database_not_an_old_copy() -> None:
    """Two people finish the same job: the second read it before the first moved it."""
    job = job_at("in_hand")
    old_copy = Job.objects.get(pk=job.pk)
    move_job(job, Stage.TEST, work_order=lock_work_order(job.work_order_id))

    with pytest.raises(Refused) as caught:
        move_job(old_copy, Stage.TEST, work_order=lock_work_order(job.work_order_id))

    assert caught.value.sentence == "This job is at “Test”; it cannot go to “Test” from there."


@pytest.mark.parametrize(("moved", "other"), list(product(ORDER, repeat=2)))
def test_visit_follows_its_least_advanced_job(moved: str, other: str) -> None:
    expected = min([moved, other], key=ORDER.index)

    assert least_advanced([moved, other]) == expected
    assert least_advanced([other, moved]) == expected


@pytest.mark.parametrize(
    ("stages", "expected"),
    [
        (["gone"], "gone"),
        (["cancelled"], "cancelled"),
        (["gone", "cancelled"], "gone"),
        (["cancelled", "cancelled"], "cancelled"),
        (["cancelled", "ready"], "ready"),
        (["gone", "cancelled", "here"], "here"),
    ],
)
def test_cancelled_jobs_hold_no_visit_back(stages: list[str], expected: str) -> None:
    assert least_advanced(stages) == expected


def test_move_job_leaves_the_visit_with_its_slowest_job() -> None:
    work_order = WorkOrderFactory(stage="in_line")
    first = JobFactory(work_order=work_order, position=1, stage="in_line")
    second = JobFactory(work_order=work_order, position=2, stage="in_line")

    stages = []
    for job in (first, second):
        move_job(job, Stage.IN_HAND, work_order=lock_work_order(work_order.pk))
        stages.append(WorkOrder.objects.get().stage)

    assert stages == ["in_line", "in_hand"]


def test_move_job_touches_no_other_visit() -> None:
    other, job = job_at("here"), job_at("here")

    move_job(job, Stage.DIAGNOSIS, work_order=lock_work_order(job.work_order_id))

    assert Job.objects.get(pk=other.pk).stage == "here"
    assert WorkOrder.objects.get(pk=other.work_order_id).stage == "here"

"""A test's verdict moves its job forward or back."""

from collections.abc import Callable

import pytest

from shopapp.actions import jobs
from shopapp.actions.actor import Actor
from shopapp.actions.job_tests import RecordTestInput, record_test
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, JobTest, Outcome, Person, Stage
from tests.factories.jobs import agreed_job

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def test_passed_test_makes_the_job_ready(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    row = record_test(job.pk, RecordTestInput(has_passed=True, conditions="calm"), by=by(tobiah))

    job.refresh_from_db()
    job.work_order.refresh_from_db()
    assert (job.stage, job.outcome, job.work_order.stage) == (Stage.READY, Outcome.DONE, Stage.READY)
    assert (row.kind, row.conditions, row.tested_by, row.tested_at) == (
        "water",
        "calm",
        tobiah,
        by(tobiah).at,
    )
    assert list(Activity.objects.order_by("seq").values_list("verb", flat=True)) == [
        "record test",
        "move job",
    ]


def test_failed_test_sends_the_job_back(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    record_test(job.pk, RecordTestInput(has_passed=False, remarks="Still leaks"), by=by(tobiah))

    job.refresh_from_db()
    move = Activity.objects.get(verb="move job")
    assert (job.stage, job.outcome) == (Stage.IN_HAND, Outcome.OPEN)
    assert move.payload == '{"from": "test", "to": "in_hand", "why": "Still leaks"}'


def test_failed_test_needs_its_reason(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)

    with pytest.raises(BadInput) as error:
        record_test(job.pk, RecordTestInput(has_passed=False, remarks=" "), by=by(tobiah))

    assert (error.value.field, JobTest.objects.count()) == ("remarks", 0)


def test_job_may_fail_and_then_pass(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    record_test(job.pk, RecordTestInput(has_passed=False, remarks="Still leaks"), by=by(tobiah))
    jobs.finish_work(job.pk, by=by(tobiah))

    record_test(job.pk, RecordTestInput(has_passed=True), by=by(tobiah))

    assert list(job.tests.order_by("pk").values_list("has_passed", flat=True)) == [False, True]


@pytest.mark.parametrize("stage", [Stage.HERE, Stage.IN_LINE, Stage.IN_HAND, Stage.READY])
def test_only_finished_work_is_tested(tobiah: Person, by: By, stage: Stage) -> None:
    job = agreed_job(stage, technician=tobiah)

    with pytest.raises(Refused) as refusal:
        record_test(job.pk, RecordTestInput(has_passed=True), by=by(tobiah))

    assert refusal.value.sentence == f"Only finished work is tested; this job is at “{stage.label}”."
    assert JobTest.objects.count() == 0

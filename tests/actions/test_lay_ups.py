"""An engine is fogged after its test, never before, and not run again until it is put back in service."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.job_endings import WaiveInput, waive_test
from shopapp.actions.job_tests import RecordTestInput, record_test
from shopapp.actions.lay_ups import lay_up_engine, put_engine_in_service, put_in_service
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.models import Activity, Engine, EntryState, Job, JobTest, Outcome, Person, Stage
from shopapp.queries.feed import feed_of
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.entries import tablet_of
from tests.factories.jobs import agreed_job, job_at, lay_up

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
RUNS = ("hose", "tank", "water", "water_customer")
PASSED = RecordTestInput(has_passed=True, conditions="calm")
RUN = {"verdict": "passed", "conditions": "20 minutes on the hose"}
NOT_RUN = (
    "This engine is fogged and laid up since 2 Jun 2026 and is not run again. "
    "Put it back in service first, then test it."
)


def engine_of(job: Job) -> Engine:
    return Engine.objects.get(pk=job.engine_id)


def test_laid_up_engine_says_who_when_and_on_which_job(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    record_test(job.pk, PASSED, by=by(tobiah))

    lay_up_engine(job.pk, by=by(tobiah))

    engine = engine_of(job)
    assert (engine.laid_up_at, engine.laid_up_by, engine.laid_up_on) == (by(tobiah).at, tobiah, job)
    assert engine.version == 1
    newest = feed_of(job.work_order)[0]
    told = "wrote down that an engine is fogged and laid up"
    assert (newest.deed, newest.detail) == (told, "Petrel Marine P60")


@pytest.mark.parametrize("kind", RUNS)
@pytest.mark.parametrize("stage", [Stage.IN_HAND, Stage.TEST])
def test_fogging_asks_first_for_the_test(tobiah: Person, by: By, kind: str, stage: Stage) -> None:
    job = agreed_job(stage, technician=tobiah, test_kind=kind)

    with pytest.raises(Refused) as refusal:
        lay_up_engine(job.pk, by=by(tobiah))

    assert refusal.value.sentence == (
        f"Test first, then fog: {job.work_order.number}, job 1 on this engine has no test yet. "
        "Record it, or the owner lets the job go without it."
    )
    assert (engine_of(job).laid_up_at, Activity.objects.count()) == (None, 0)


def test_another_job_on_the_engine_that_waits_for_its_test_stops_the_fogging(tobiah: Person, by: By) -> None:
    job = job_at(Stage.READY, technician=tobiah)
    other = JobFactory.create(work_order=WorkOrderFactory.create(stage=Stage.TEST), engine=job.engine)
    Job.objects.filter(pk=other.pk).update(stage=Stage.TEST)

    with pytest.raises(Refused, match=f"{other.work_order.number}, job 1 on this engine"):
        lay_up_engine(job.pk, by=by(tobiah))
    # what nobody has begun is tested after the winter
    Job.objects.filter(pk=other.pk).update(stage=Stage.WITH_CUSTOMER)

    assert lay_up_engine(job.pk, by=by(tobiah)).laid_up_at is not None


def test_waiver_and_no_test_let_the_fogging_through(tobiah: Person, maren: Person, by: By) -> None:
    waived = agreed_job(Stage.TEST, technician=tobiah)
    waive_test(waived.pk, WaiveInput(reason="Ice in the harbour"), by=by(maren))
    untested = agreed_job(Stage.IN_HAND, technician=tobiah, test_kind="none")

    for job in (waived, untested):
        assert lay_up_engine(job.pk, by=by(tobiah)).laid_up_on == job


@pytest.mark.parametrize("stage", [Stage.HERE, Stage.DIAGNOSIS, Stage.IN_LINE, Stage.CANCELLED])
def test_engine_is_fogged_when_its_work_is_done(tobiah: Person, by: By, stage: Stage) -> None:
    job = job_at(stage, technician=tobiah)

    with pytest.raises(Refused) as refusal:
        lay_up_engine(job.pk, by=by(tobiah))

    sentence = f"An engine is fogged when its work is done; this job is at “{stage.label}”."
    assert refusal.value.sentence == sentence


def test_second_sender_is_told_since_when(tobiah: Person, by: By) -> None:
    job = job_at(Stage.READY, technician=tobiah)
    lay_up_engine(job.pk, by=by(tobiah))

    with pytest.raises(Refused) as refusal:
        lay_up_engine(job.pk, by=replace(by(tobiah), at=by(tobiah).at + timedelta(days=3)))

    assert refusal.value.sentence == "This engine is fogged and laid up since 2 Jun 2026 already."
    assert (engine_of(job).laid_up_at, Activity.objects.count()) == (by(tobiah).at, 1)


def test_job_on_the_boat_itself_lays_nothing_up(tobiah: Person, by: By) -> None:
    job = job_at(Stage.READY, technician=tobiah, engine=None)

    with pytest.raises(Refused, match="on the boat itself"):
        lay_up_engine(job.pk, by=by(tobiah))


def test_colleague_of_another_boat_may_do_neither(tobiah: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.READY, technician=tobiah)
    with pytest.raises(NotAllowed):
        lay_up_engine(job.pk, by=by(wen))
    lay_up(job, tobiah, at=by(tobiah).at)

    with pytest.raises(NotAllowed):
        put_in_service(job.pk, by=by(wen))
    with pytest.raises(NotAllowed):
        put_engine_in_service(job.engine_id, by=by(wen))
    assert engine_of(job).laid_up_at is not None


@pytest.mark.parametrize("kind", RUNS)
@pytest.mark.parametrize("has_passed", [True, False])
def test_laid_up_engine_is_not_run_again(tobiah: Person, by: By, kind: str, *, has_passed: bool) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah, test_kind=kind)
    lay_up(job, tobiah, at=by(tobiah).at)

    with pytest.raises(Refused) as refusal:
        record_test(job.pk, RecordTestInput(has_passed=has_passed, remarks="Leaks"), by=by(tobiah))

    job.refresh_from_db()
    assert (refusal.value.sentence, job.stage, JobTest.objects.count()) == (NOT_RUN, Stage.TEST, 0)


def test_back_in_service_it_is_tested_like_any_other(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    lay_up(job, tobiah, at=by(tobiah).at)

    put_in_service(job.pk, by=by(tobiah))
    record_test(job.pk, PASSED, by=by(tobiah))

    job.refresh_from_db()
    engine = engine_of(job)
    assert (engine.laid_up_at, engine.laid_up_by, engine.laid_up_on) == (None, None, None)
    assert (job.stage, job.outcome) == (Stage.READY, Outcome.DONE)
    assert "put an engine back in service" in [row.deed for row in feed_of(job.work_order)]
    with pytest.raises(Refused, match=r"This engine is in service\."):
        put_in_service(job.pk, by=by(tobiah))


def test_closed_job_puts_nothing_in_service(tobiah: Person, by: By) -> None:
    job = job_at(Stage.CANCELLED, technician=tobiah)
    lay_up(job, tobiah, at=by(tobiah).at)

    with pytest.raises(Refused, match="This job is closed"):
        put_in_service(job.pk, by=by(tobiah))


def test_desk_puts_it_in_service_without_a_job(ilse: Person, tobiah: Person, by: By) -> None:
    job = job_at(Stage.CANCELLED, technician=tobiah)
    lay_up(job, tobiah, at=by(tobiah).at)

    put_engine_in_service(job.engine_id, by=by(ilse))

    assert (engine_of(job).laid_up_at, Activity.objects.get().work_order_id) == (None, None)
    with pytest.raises(Refused, match="in service"):
        put_engine_in_service(job.engine_id, by=by(ilse))


def test_test_before_the_fogging_counts_however_late_it_comes(
    tobiah: Person, maren: Person, now: datetime
) -> None:
    """Tested on the tablet at minute 5, fogged at minute 30, received after three hours."""
    job = agreed_job(Stage.TEST, technician=tobiah)
    tablet = tablet_of(maren, tobiah, at=now)
    lay_up(job, tobiah, at=now + timedelta(minutes=30))

    entry = tablet.take(tablet.write("test", job, tobiah, RUN, after=5))

    job.refresh_from_db()
    assert (entry.state, entry.row) == (EntryState.STORED, f"test-{JobTest.objects.get().pk}")
    assert job.stage == Stage.READY


def test_test_after_the_fogging_waits_for_the_desk_with_the_sentence(
    tobiah: Person, maren: Person, now: datetime
) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    tablet = tablet_of(maren, tobiah, at=now)
    lay_up(job, tobiah, at=now + timedelta(minutes=30))

    sent = tablet.write("test", job, tobiah, RUN, after=30)
    entries = [tablet.take(sent), tablet.take(sent)]

    assert [(one.state, one.reason) for one in entries] == [(EntryState.REVIEW, NOT_RUN)] * 2
    assert JobTest.objects.count() == 0

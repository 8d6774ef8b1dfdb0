"""Findings, diagnosis, work: what moves a job, what does not, and who may."""

from collections.abc import Callable

import pytest

from shopapp.actions import jobs
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.jobs import FindingsInput
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Job, Outcome, Person, Stage
from shopapp.models import TestKind as Kind
from tests.factories.jobs import agreed_job, job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]

FOUND = FindingsInput(
    complaint="Milky oil", cause="Seal cut by line", correction="New seals", test_kind=Kind.TANK
)


def stages_of(job: Job) -> tuple[str, str]:
    job.refresh_from_db()
    job.work_order.refresh_from_db()
    return job.stage, job.work_order.stage


def test_start_diagnosis_moves_job_and_visit(tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    jobs.start_diagnosis(job.pk, by=by(tobiah))

    assert stages_of(job) == (Stage.DIAGNOSIS, Stage.DIAGNOSIS)
    assert list(Activity.objects.values_list("verb", "actor_name", "work_order")) == [
        ("move job", "Tobiah Reyes", job.work_order_id)
    ]


@pytest.mark.parametrize("stage", [stage for stage in Stage if stage != Stage.HERE])
def test_start_diagnosis_refuses_every_other_stage(tobiah: Person, by: By, stage: Stage) -> None:
    changes = {"gone_at": by(tobiah).at} if stage == Stage.GONE else {}
    job = job_at(Stage.HERE, technician=tobiah)
    type(job.work_order).objects.filter(pk=job.work_order_id).update(stage=stage, **changes)
    Job.objects.filter(pk=job.pk).update(stage=stage)

    with pytest.raises(Refused) as refusal:
        jobs.start_diagnosis(job.pk, by=by(tobiah))

    assert refusal.value.sentence == (
        f"A diagnosis starts when the boat is here; this job is at “{stage.label}”."
    )
    assert (stages_of(job)[0], Activity.objects.count()) == (stage, 0)


def test_start_work_needs_an_agreed_option(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_LINE, technician=tobiah)

    with pytest.raises(Refused) as refusal:
        jobs.start_work(job.pk, by=by(tobiah))

    assert refusal.value.sentence == (
        "The customer has not agreed to this work yet. Write and send a quote first."
    )
    assert stages_of(job) == (Stage.IN_LINE, Stage.IN_LINE)


def test_start_work_moves_an_agreed_job(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_LINE, technician=tobiah)

    jobs.start_work(job.pk, by=by(tobiah))

    assert stages_of(job) == (Stage.IN_HAND, Stage.IN_HAND)


def test_agreed_work_that_was_sent_back_starts_again(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.DIAGNOSIS, technician=tobiah)

    jobs.start_work(job.pk, by=by(tobiah))

    assert stages_of(job) == (Stage.IN_HAND, Stage.IN_HAND)


@pytest.mark.parametrize("stage", [Stage.WITH_CUSTOMER, Stage.IN_HAND, Stage.TEST, Stage.READY])
def test_start_work_refuses_other_stages(tobiah: Person, by: By, stage: Stage) -> None:
    job = agreed_job(stage, technician=tobiah)

    with pytest.raises(Refused) as refusal:
        jobs.start_work(job.pk, by=by(tobiah))

    assert refusal.value.sentence == f"Work starts from its place in line; this job is at “{stage.label}”."
    assert stages_of(job)[0] == stage


@pytest.mark.parametrize(
    ("kind", "stage", "outcome"),
    [
        (Kind.NONE, Stage.READY, Outcome.DONE),
        (Kind.HOSE, Stage.TEST, Outcome.OPEN),
        (Kind.WATER_WITH_CUSTOMER, Stage.TEST, Outcome.OPEN),
    ],
)
def test_finish_work_leads_to_its_test(
    tobiah: Person, by: By, kind: Kind, stage: Stage, outcome: Outcome
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah, test_kind=kind)

    jobs.finish_work(job.pk, by=by(tobiah))

    assert stages_of(job) == (stage, stage)
    assert job.outcome == outcome


def test_finish_work_a_second_time_is_refused(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    jobs.finish_work(job.pk, by=by(tobiah))

    with pytest.raises(Refused) as refusal:
        jobs.finish_work(job.pk, by=by(tobiah))

    assert refusal.value.sentence == "Only work in hand can be finished; this job is at “Test”."
    assert Activity.objects.count() == 1


def test_findings_are_saved_and_counted(tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    saved = jobs.edit_findings(job.pk, FOUND, version=1, by=by(tobiah))

    assert (saved.cause, saved.correction, saved.test_kind, saved.version) == (
        "Seal cut by line",
        "New seals",
        Kind.TANK,
        2,
    )


def test_findings_of_the_second_are_stale_t22(tobiah: Person, ilse: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    jobs.edit_findings(job.pk, FOUND, version=1, by=by(tobiah))

    with pytest.raises(Stale) as stale:
        jobs.edit_findings(job.pk, FOUND, version=1, by=by(ilse))

    assert (stale.value.record.cause, stale.value.record.version) == ("Seal cut by line", 2)
    assert Activity.objects.count() == 1


@pytest.mark.parametrize(
    ("stage", "changes", "field"),
    [
        (Stage.DIAGNOSIS, {"complaint": "  "}, "complaint"),
        (Stage.TEST, {"test_kind": Kind.NONE}, "test_kind"),
        (Stage.READY, {"test_kind": Kind.HOSE}, "test_kind"),
    ],
)
def test_findings_refuse_what_would_mislead(
    tobiah: Person, by: By, stage: Stage, changes: dict[str, object], field: str
) -> None:
    job = job_at(stage, technician=tobiah)
    data = FindingsInput(**vars(FOUND) | changes)

    with pytest.raises(BadInput) as error:
        jobs.edit_findings(job.pk, data, version=1, by=by(tobiah))

    assert error.value.field == field


def test_findings_of_a_cancelled_job_stay(ilse: Person, by: By) -> None:
    job = job_at(Stage.CANCELLED)

    with pytest.raises(Refused) as refusal:
        jobs.edit_findings(job.pk, FOUND, version=1, by=by(ilse))

    assert refusal.value.sentence == "This job is closed; its findings stay as they are."


def test_technician_of_another_boat_may_not(wen: Person, tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    with pytest.raises(NotAllowed) as refusal:
        jobs.start_diagnosis(job.pk, by=by(wen))

    assert refusal.value.sentence == "Only those who work on this boat may do that."
    assert stages_of(job) == (Stage.HERE, Stage.HERE)


def test_nobody_acts_without_being_a_person(by: By, tobiah: Person) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    with pytest.raises(NotAllowed) as refusal:
        jobs.start_diagnosis(job.pk, by=Actor(scope=Scope.SYSTEM, at=by(tobiah).at))

    assert refusal.value.sentence == "Only people of the shop may do that."


def test_visit_follows_its_least_advanced_job(tobiah: Person, by: By) -> None:
    first = job_at(Stage.HERE, technician=tobiah)
    Job.objects.create(work_order=first.work_order, position=2, complaint="Trim stuck", stage=Stage.HERE)

    jobs.start_diagnosis(first.pk, by=by(tobiah))

    assert stages_of(first) == (Stage.DIAGNOSIS, Stage.HERE)

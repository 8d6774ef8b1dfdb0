"""Small work begins under the signed spending limit: never beyond it, never beside an approval."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogTimeInput, log_time
from shopapp.actions.jobs import LimitInput, start_within_limit
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Intake, Job, Person, Stage, WorkOrder
from tests.factories import JobFactory
from tests.factories.jobs import agreed_job, job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def sign(work_order: WorkOrder, by: Actor, *, limit: int = 20_000, **more: object) -> None:
    """Terms with a limit, signed on paper."""
    Intake.objects.create(
        work_order=work_order,
        spending_limit_minor=limit,
        created_at=by.at,
        signed_at=by.at,
        signed_how="paper",
        signed_name="Aud Nilsen",
        shown_sha256="0" * 64,
        signed_sha256="1" * 64,
        **more,
    )


def begin(job: Job, amount: str, by: Actor) -> Job:
    return start_within_limit(job.pk, LimitInput(amount=Decimal(amount)), by=by)


@pytest.mark.parametrize("stage", [Stage.HERE, Stage.DIAGNOSIS])
def test_work_begins_up_to_the_limit(ilse: Person, by: By, stage: Stage) -> None:
    job = job_at(stage)
    sign(job.work_order, by(ilse))

    begin(job, "200.00", by(ilse))

    job.refresh_from_db()
    assert (job.stage, job.limit_share_minor) == (Stage.IN_HAND, 20_000)


def test_a_cent_beyond_the_limit_is_refused(ilse: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    sign(job.work_order, by(ilse))

    with pytest.raises(Refused) as refusal:
        begin(job, "200.01", by(ilse))

    job.refresh_from_db()
    assert refusal.value.sentence == (
        "The signed limit is $200.00 and $0.00 of it is taken. Ask the customer first."
    )
    assert (job.stage, job.limit_share_minor) == (Stage.DIAGNOSIS, None)


def test_two_jobs_share_one_limit(ilse: Person, by: By) -> None:
    first = job_at(Stage.DIAGNOSIS)
    second = JobFactory(work_order=first.work_order, position=2)
    sign(first.work_order, by(ilse))
    begin(first, "120.00", by(ilse))

    with pytest.raises(Refused):
        begin(second, "80.01", by(ilse))
    begin(second, "80.00", by(ilse))

    second.refresh_from_db()
    assert second.stage == Stage.IN_HAND


def test_what_is_logged_takes_of_the_limit(ilse: Person, tobiah: Person, by: By) -> None:
    looked_at = job_at(Stage.DIAGNOSIS, technician=tobiah)
    other = JobFactory(work_order=looked_at.work_order, position=2)
    sign(looked_at.work_order, by(ilse))
    # an hour of shop labour at 120.00
    log_time(looked_at.pk, LogTimeInput(minutes=60), by=by(tobiah))

    with pytest.raises(Refused) as refusal:
        begin(other, "80.01", by(ilse))
    begin(other, "80.00", by(ilse))

    assert "$120.00 of it is taken" in refusal.value.sentence


def test_share_is_not_less_than_what_is_logged_on_the_job(ilse: Person, tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    sign(job.work_order, by(ilse))
    log_time(job.pk, LogTimeInput(minutes=60), by=by(tobiah))

    with pytest.raises(Refused):
        begin(job, "100.00", by(ilse))
    begin(job, "150.00", by(ilse))

    job.refresh_from_db()
    assert job.stage == Stage.IN_HAND


def test_limit_ends_with_the_first_approval(ilse: Person, by: By) -> None:
    agreed = agreed_job(Stage.IN_LINE)
    job = JobFactory(work_order=agreed.work_order, position=2, stage=Stage.DIAGNOSIS)
    sign(job.work_order, by(ilse))

    with pytest.raises(Refused) as refusal:
        begin(job, "10.00", by(ilse))

    assert refusal.value.sentence == (
        "No signed spending limit is in force on this visit. Write and send a quote, or call."
    )


def test_limit_goes_on_where_the_paper_says_so(ilse: Person, by: By) -> None:
    agreed = agreed_job(Stage.IN_LINE)
    job = JobFactory(work_order=agreed.work_order, position=2, stage=Stage.DIAGNOSIS)
    sign(job.work_order, by(ilse), limit_comes_on_top=True)

    begin(job, "200.00", by(ilse))

    job.refresh_from_db()
    assert job.stage == Stage.IN_HAND


def test_unsigned_terms_allow_nothing(ilse: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    Intake.objects.create(work_order=job.work_order, spending_limit_minor=20_000, created_at=by(ilse).at)

    with pytest.raises(Refused):
        begin(job, "10.00", by(ilse))


@pytest.mark.parametrize("stage", [Stage.WITH_CUSTOMER, Stage.IN_LINE, Stage.IN_HAND, Stage.READY])
def test_other_stages_do_not_begin_so(ilse: Person, by: By, stage: Stage) -> None:
    job = job_at(stage)
    sign(job.work_order, by(ilse))

    with pytest.raises(Refused) as refusal:
        begin(job, "10.00", by(ilse))

    assert refusal.value.sentence == (
        f"Work under the limit starts from the diagnosis; this job is at “{stage.label}”."
    )


@pytest.mark.parametrize("amount", ["0", "-1", "0.00"])
def test_nothing_is_no_amount(ilse: Person, by: By, amount: str) -> None:
    job = job_at(Stage.DIAGNOSIS)
    sign(job.work_order, by(ilse))

    with pytest.raises(BadInput, match=r"^amount"):
        begin(job, amount, by(ilse))


def test_technician_names_no_amounts(tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    sign(job.work_order, by(tobiah))

    with pytest.raises(NotAllowed):
        begin(job, "10.00", by(tobiah))

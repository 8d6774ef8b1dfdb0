"""Jobs that end without being done, go without their test, or go back; who may, and what is refused."""

from collections.abc import Callable

import pytest

from shopapp.actions import jobs, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.job_endings import (
    BackInput,
    EndInput,
    WaiveInput,
    end_job,
    move_back,
    waive_test,
)
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.work_orders import TellInput, tell_customer
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Job, Outcome, Person, Stage, ToldHow
from shopapp.queries.invoices import billable_lines
from tests.factories.invoices import finished_job
from tests.factories.jobs import agreed_job, job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
DECLINED = (Outcome.DECLINED, Outcome.DECLINED_IN_BOXES, Outcome.DECLINED_AS_SCRAP)


def at(job: Job) -> tuple[str, str, str]:
    """Stage of the job and of its visit, and how the job ended."""
    job.refresh_from_db()
    job.work_order.refresh_from_db()
    return job.stage, job.work_order.stage, job.outcome


def ended(outcome: Outcome) -> EndInput:
    return EndInput(outcome=outcome, reason="too dear this year")


def back_to(stage: Stage) -> BackInput:
    return BackInput(to=stage, reason="the bearing is worn too")


@pytest.mark.parametrize("outcome", [*DECLINED, Outcome.LATER])
@pytest.mark.parametrize("stage", [Stage.HERE, Stage.DIAGNOSIS])
def test_desk_ends_a_job_the_customer_does_not_want(
    ilse: Person, by: By, stage: Stage, outcome: Outcome
) -> None:
    job = job_at(stage)

    end_job(job.pk, ended(outcome), by=by(ilse))

    assert at(job) == (Stage.READY, Stage.READY, outcome)
    assert list(Activity.objects.order_by("seq").values_list("verb", flat=True)) == ["move job", "end job"]


def test_technician_finds_no_fault(tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    end_job(job.pk, ended(Outcome.NO_FAULT), by=by(tobiah))

    assert at(job) == (Stage.READY, Stage.READY, Outcome.NO_FAULT)


@pytest.mark.parametrize("outcome", [*DECLINED, Outcome.LATER, Outcome.DONE, Outcome.OPEN])
def test_technician_ends_nothing_else(tobiah: Person, by: By, outcome: Outcome) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    with pytest.raises(BadInput) as error:
        end_job(job.pk, ended(outcome), by=by(tobiah))

    assert (error.value.field, error.value.accepted) == ("outcome", "no fault found")
    assert at(job) == (Stage.DIAGNOSIS, Stage.DIAGNOSIS, Outcome.OPEN)


@pytest.mark.parametrize("stage", [Stage.WITH_CUSTOMER, Stage.IN_HAND, Stage.TEST, Stage.CANCELLED])
def test_job_under_way_is_not_ended(ilse: Person, by: By, stage: Stage) -> None:
    job = job_at(stage)

    with pytest.raises(Refused) as refusal:
        end_job(job.pk, ended(Outcome.LATER), by=by(ilse))

    assert refusal.value.sentence == f"This job is at “{stage.label}”; it can not be ended from there."
    assert at(job)[0] == stage


def test_job_that_is_done_stays_done(ilse: Person, by: By) -> None:
    job = finished_job()

    with pytest.raises(Refused):
        end_job(job.pk, ended(Outcome.DECLINED), by=by(ilse))

    assert at(job)[2] == Outcome.DONE


def test_declined_job_goes_home_in_boxes_after_all(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY, outcome=Outcome.DECLINED)

    end_job(job.pk, ended(Outcome.DECLINED_IN_BOXES), by=by(ilse))

    assert at(job) == (Stage.READY, Stage.READY, Outcome.DECLINED_IN_BOXES)
    assert [entry.verb for entry in Activity.objects.all()] == ["end job"]


@pytest.mark.parametrize("outcome", [*DECLINED, Outcome.LATER])
def test_agreed_work_called_off_is_not_billed(ilse: Person, by: By, outcome: Outcome) -> None:
    job = agreed_job(Stage.IN_LINE)

    end_job(job.pk, ended(outcome), by=by(ilse))

    assert (at(job)[2], billable_lines(job.work_order)) == (outcome, ())


@pytest.mark.parametrize("reason", ["", "  ", "x" * 301])
def test_reason_is_asked_for(ilse: Person, maren: Person, by: By, reason: str) -> None:
    job, tested = job_at(Stage.DIAGNOSIS), agreed_job(Stage.TEST)

    for deed in (
        lambda: end_job(job.pk, EndInput(outcome=Outcome.LATER, reason=reason), by=by(ilse)),
        lambda: move_back(job.pk, BackInput(to=Stage.HERE, reason=reason), by=by(ilse)),
        lambda: waive_test(tested.pk, WaiveInput(reason=reason), by=by(maren)),
    ):
        with pytest.raises(BadInput) as error:
            deed()
        assert error.value.field == "reason"

    assert Activity.objects.count() == 0


WAYS = [
    (Stage.DIAGNOSIS, Stage.HERE),
    (Stage.IN_LINE, Stage.DIAGNOSIS),
    (Stage.IN_HAND, Stage.IN_LINE),
    (Stage.IN_HAND, Stage.DIAGNOSIS),
    (Stage.TEST, Stage.IN_HAND),
    (Stage.TEST, Stage.DIAGNOSIS),
]


@pytest.mark.parametrize(("before", "to"), WAYS)
def test_technician_sends_an_agreed_job_back(tobiah: Person, by: By, before: Stage, to: Stage) -> None:
    job = agreed_job(before, technician=tobiah)

    move_back(job.pk, back_to(to), by=by(tobiah))

    assert at(job) == (to, to, Outcome.OPEN)
    entry = Activity.objects.get()
    assert (entry.verb, "the bearing is worn too" in str(entry.payload)) == ("move job", True)


@pytest.mark.parametrize("to", [Stage.IN_HAND, Stage.DIAGNOSIS])
def test_ready_job_goes_back_and_is_not_told_any_more(ilse: Person, by: By, to: Stage) -> None:
    job = finished_job()
    tell_customer(job.work_order_id, TellInput(how=ToldHow.PHONE), by=by(ilse))

    move_back(job.pk, back_to(to), by=by(ilse))

    assert at(job) == (to, to, Outcome.OPEN)
    assert (job.work_order.told_at, job.work_order.told_how) == (None, "")


def test_technician_does_not_take_a_ready_boat_back(tobiah: Person, by: By) -> None:
    job = finished_job()
    job.assignments.create(person=tobiah)

    with pytest.raises(Refused) as refusal:
        move_back(job.pk, back_to(Stage.IN_HAND), by=by(tobiah))

    assert refusal.value.sentence == "This job is at “Ready”; it cannot go back to “In hand” from there."


@pytest.mark.parametrize("outcome", [*DECLINED, Outcome.LATER, Outcome.NO_FAULT])
def test_job_that_was_not_done_is_asked_about_again(ilse: Person, by: By, outcome: Outcome) -> None:
    job = job_at(Stage.READY, outcome=outcome)

    with pytest.raises(Refused):
        move_back(job.pk, back_to(Stage.IN_HAND), by=by(ilse))
    move_back(job.pk, back_to(Stage.DIAGNOSIS), by=by(ilse))
    draft = quotes.start_quote(job.work_order_id, by=by(ilse))

    assert at(job) == (Stage.DIAGNOSIS, Stage.DIAGNOSIS, Outcome.OPEN)
    assert [choice.job_id for choice in draft.choices.all()] == [job.pk]


def test_work_that_nobody_agreed_to_is_not_put_in_line(ilse: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, limit_share_minor=5_000)

    with pytest.raises(Refused):
        move_back(job.pk, back_to(Stage.IN_LINE), by=by(ilse))
    move_back(job.pk, back_to(Stage.DIAGNOSIS), by=by(ilse))

    assert (at(job)[0], job.limit_share_minor) == (Stage.DIAGNOSIS, None)


def test_work_under_the_limit_goes_back_from_its_test(ilse: Person, by: By) -> None:
    job = job_at(Stage.TEST, limit_share_minor=5_000)

    move_back(job.pk, back_to(Stage.IN_HAND), by=by(ilse))

    assert (at(job)[0], job.limit_share_minor) == (Stage.IN_HAND, 5_000)


def test_billed_job_is_not_asked_about_again(ilse: Person, by: By) -> None:
    job = finished_job()
    issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        move_back(job.pk, back_to(Stage.DIAGNOSIS), by=by(ilse))
    move_back(job.pk, back_to(Stage.IN_HAND), by=by(ilse))

    assert refusal.value.sentence == (
        "This job is billed. Credit the invoice first, or write down what else is wrong as a new job."
    )
    assert at(job)[0] == Stage.IN_HAND


def test_owner_waives_the_test(maren: Person, by: By) -> None:
    job = agreed_job(Stage.TEST)

    waive_test(job.pk, WaiveInput(reason="Ice on the inlet until March"), by=by(maren))

    assert at(job) == (Stage.READY, Stage.READY, Outcome.DONE)
    assert (job.waived_by, job.waiver_reason) == (maren, "Ice on the inlet until March")


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_nobody_else_waives_a_test(request: pytest.FixtureRequest, tobiah: Person, by: By, who: str) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    person = request.getfixturevalue(who)

    with pytest.raises(NotAllowed) as refusal:
        waive_test(job.pk, WaiveInput(reason="no time"), by=by(person))

    assert refusal.value.sentence == "Only the owner lets a boat go without its test."
    assert at(job)[0] == Stage.TEST


def test_owner_waives_nothing_but_a_test(maren: Person, by: By) -> None:
    job = agreed_job(Stage.IN_HAND)

    with pytest.raises(Refused) as refusal:
        waive_test(job.pk, WaiveInput(reason="no time"), by=by(maren))

    assert refusal.value.sentence == (
        "Only work that waits for its test can go without it; this job is at “In hand”."
    )


def test_waiver_ends_when_the_job_goes_back(maren: Person, by: By) -> None:
    job = agreed_job(Stage.TEST)
    waive_test(job.pk, WaiveInput(reason="no wind"), by=by(maren))

    move_back(job.pk, back_to(Stage.IN_HAND), by=by(maren))
    jobs.finish_work(job.pk, by=by(maren))

    assert (at(job)[0], job.waived_by, job.waiver_reason) == (Stage.TEST, None, "")

"""Who works on a job, when the customer is told, and what must be settled before a boat goes home."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.work_orders import (
    AssignInput,
    HandBackInput,
    TellInput,
    assign_technician,
    hand_back,
    tell_customer,
)
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Job, JobAssignment, Outcome, Person, Stage, ToldHow, WorkOrder
from tests.factories import WorkOrderFactory
from tests.factories.invoices import Offered, Planned, approve, drafted, issued, paid
from tests.factories.jobs import agreed_job, job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
TOLD = TellInput(how=ToldHow.PHONE)
HOME = HandBackInput(gone_to="Aud Nilsen")


def test_technician_is_put_on_a_job_once(ilse: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.HERE)

    for _ in range(2):
        assign_technician(job.pk, AssignInput(person_pk=wen.pk), by=by(ilse))

    assert list(JobAssignment.objects.values_list("job", "person")) == [(job.pk, wen.pk)]
    assert Activity.objects.count() == 1


def test_technician_is_taken_off_a_job(ilse: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=wen)

    assign_technician(job.pk, AssignInput(person_pk=wen.pk, is_on=False), by=by(ilse))

    assert JobAssignment.objects.count() == 0
    assert Activity.objects.get().verb == "take off technician"


def test_only_technicians_are_put_on_jobs(ilse: Person, by: By) -> None:
    job = job_at(Stage.HERE)

    with pytest.raises(BadInput, match=r"^person"):
        assign_technician(job.pk, AssignInput(person_pk=ilse.pk), by=by(ilse))


def test_technician_assigns_nobody(tobiah: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    with pytest.raises(NotAllowed):
        assign_technician(job.pk, AssignInput(person_pk=wen.pk), by=by(tobiah))

    assert JobAssignment.objects.count() == 1


def test_nobody_is_put_on_a_closed_job(ilse: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.CANCELLED)

    with pytest.raises(Refused) as refusal:
        assign_technician(job.pk, AssignInput(person_pk=wen.pk), by=by(ilse))

    assert refusal.value.sentence == "This job is closed; nobody works on it any more."


def test_telling_is_remembered_with_its_way(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.READY, outcome=Outcome.DONE).work_order

    tell_customer(work_order.pk, TOLD, by=by(ilse))

    work_order.refresh_from_db()
    assert (work_order.told_at, work_order.told_how) == (by(ilse).at, "phone")


@pytest.mark.parametrize("stage", [Stage.HERE, Stage.IN_HAND, Stage.TEST, Stage.CANCELLED])
def test_customer_is_not_told_too_early(ilse: Person, by: By, stage: Stage) -> None:
    work_order = job_at(stage).work_order

    with pytest.raises(Refused) as refusal:
        tell_customer(work_order.pk, TOLD, by=by(ilse))

    assert refusal.value.sentence == (
        f"This work order is at “{stage.label}”; every job must be ready first."
    )


def settled(ilse: Person, by: By) -> WorkOrder:
    """Done, billed, paid and told."""
    invoice = issued(by=by(ilse))
    paid(invoice, f"{invoice.total_minor / 100:.2f}", by=by(ilse))
    tell_customer(invoice.work_order_id, TOLD, by=by(ilse))
    return invoice.work_order


def test_paid_boat_goes_home(ilse: Person, by: By) -> None:
    work_order = settled(ilse, by)

    hand_back(work_order.pk, HOME, by=by(ilse))

    work_order.refresh_from_db()
    assert (work_order.stage, work_order.gone_at, work_order.gone_to) == (
        Stage.GONE,
        by(ilse).at,
        "Aud Nilsen",
    )
    assert set(work_order.jobs.values_list("stage", flat=True)) == {Stage.GONE}


def test_boat_goes_home_once(ilse: Person, by: By) -> None:
    work_order = settled(ilse, by)
    hand_back(work_order.pk, HOME, by=by(ilse))
    before = Activity.objects.count()

    with pytest.raises(Refused) as refusal:
        hand_back(work_order.pk, HandBackInput(gone_to="Somebody else"), by=by(ilse))

    work_order.refresh_from_db()
    assert refusal.value.sentence == "This work order is at “Gone”; every job must be ready first."
    assert (work_order.gone_to, Activity.objects.count()) == ("Aud Nilsen", before)


def test_boat_stays_until_the_customer_is_told(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.READY, outcome=Outcome.DONE).work_order

    with pytest.raises(Refused) as refusal:
        hand_back(work_order.pk, HOME, by=by(ilse))

    assert refusal.value.sentence == "Tell the customer first that the boat is ready, and note how."


def test_boat_stays_until_it_is_billed(ilse: Person, by: By) -> None:
    work_order = agreed_job(Stage.READY, outcome=Outcome.DONE).work_order
    tell_customer(work_order.pk, TOLD, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        hand_back(work_order.pk, HOME, by=by(ilse))

    assert refusal.value.sentence == "The work is not billed yet. Issue the invoice first."


def test_draft_is_not_yet_a_bill(ilse: Person, by: By) -> None:
    work_order = drafted(by=by(ilse)).work_order
    tell_customer(work_order.pk, TOLD, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        hand_back(work_order.pk, HOME, by=by(ilse))

    assert refusal.value.sentence == "The work is not billed yet. Issue the invoice first."


def test_boat_stays_until_the_last_cent(ilse: Person, by: By) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, f"{(invoice.total_minor - 1) / 100:.2f}", by=by(ilse))
    tell_customer(invoice.work_order_id, TOLD, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        hand_back(invoice.work_order_id, HOME, by=by(ilse))

    assert refusal.value.sentence == ("There is still money owed on this work order. Take the payment first.")


def test_boat_goes_home_unbilled_when_all_is_goodwill(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY, outcome=Outcome.DONE)
    approve(job, Offered(lines=[Planned(payer="shop")]))
    tell_customer(job.work_order_id, TOLD, by=by(ilse))

    hand_back(job.work_order_id, HOME, by=by(ilse))

    job.work_order.refresh_from_db()
    assert job.work_order.stage == Stage.GONE


def test_declined_boat_goes_home_unbilled(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.READY, outcome=Outcome.DECLINED).work_order
    tell_customer(work_order.pk, TOLD, by=by(ilse))

    hand_back(work_order.pk, HOME, by=by(ilse))

    work_order.refresh_from_db()
    assert work_order.stage == Stage.GONE


def test_boat_left_as_it_is_stays_until_that_is_paid(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY, outcome=Outcome.DECLINED)
    approve(job, Offered(title="Leave it, put it together", way="leave"))
    tell_customer(job.work_order_id, TOLD, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        hand_back(job.work_order_id, HOME, by=by(ilse))
    invoice = issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))
    hand_back(job.work_order_id, HOME, by=by(ilse))

    assert refusal.value.sentence == "The work is not billed yet. Issue the invoice first."
    job.work_order.refresh_from_db()
    assert job.work_order.stage == Stage.GONE


def test_boat_needs_somebody_to_take_it(ilse: Person, by: By) -> None:
    work_order = settled(ilse, by)

    with pytest.raises(BadInput, match=r"^gone_to"):
        hand_back(work_order.pk, HandBackInput(gone_to=" "), by=by(ilse))


def test_cancelled_job_stays_cancelled_when_the_boat_goes(ilse: Person, by: By) -> None:
    work_order = WorkOrderFactory(stage=Stage.READY)
    for position, stage in enumerate((Stage.READY, Stage.CANCELLED), start=1):
        Job.objects.create(
            work_order=work_order, position=position, complaint="x", stage=stage, outcome=Outcome.LATER
        )
    tell_customer(work_order.pk, TOLD, by=by(ilse))

    hand_back(work_order.pk, HOME, by=by(ilse))

    assert list(work_order.jobs.order_by("position").values_list("stage", flat=True)) == [
        Stage.GONE,
        Stage.CANCELLED,
    ]


def test_technician_hands_nothing_back(tobiah: Person, ilse: Person, by: By) -> None:
    work_order = settled(ilse, by)

    with pytest.raises(NotAllowed):
        hand_back(work_order.pk, HOME, by=by(tobiah))

    work_order.refresh_from_db()
    assert work_order.stage == Stage.READY

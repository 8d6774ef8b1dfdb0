"""Ways home beside the paid one: an account, the owner's release, a visit called off."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogTimeInput, log_time
from shopapp.actions.custody import CustodyInput, record_custody
from shopapp.actions.holds import HoldInput, place_hold
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.quotes import start_quote
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.work_orders import (
    CancelInput,
    HandBackInput,
    ReleaseInput,
    TellInput,
    cancel_visit,
    hand_back,
    release_boat,
    tell_customer,
)
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    CustodyEntry,
    Customer,
    Hold,
    Invoice,
    Job,
    Outcome,
    Payment,
    Person,
    PlacedHold,
    Stage,
    ToldHow,
    VisitPerson,
    WorkOrder,
)
from shopapp.queries.ways_home import way_home
from tests.factories.invoices import drafted, finished_job, issued, paid
from tests.factories.jobs import job_at
from tests.factories.quotes import sent_quote

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
HOME = HandBackInput(gone_to="Aud Nilsen")
LET_GO = ReleaseInput(gone_to="Aud Nilsen", reason="pays on Friday, known for years")
OFF = CancelInput(reason="sold the boat", gone_to="Aud Nilsen")


def told(invoice: Invoice, ilse: Person, by: By) -> WorkOrder:
    """The visit of an issued invoice, told to be ready."""
    return tell_customer(invoice.work_order_id, TellInput(how=ToldHow.PHONE), by=by(ilse))


def stage_of(work_order: WorkOrder) -> str:
    work_order.refresh_from_db()
    return work_order.stage


def test_account_customer_takes_the_boat_before_paying(ilse: Person, by: By) -> None:
    work_order = told(issued(by=by(ilse)), ilse, by)
    Customer.objects.filter(pk=work_order.customer_id).update(is_account=True)

    hand_back(work_order.pk, HOME, by=by(ilse))

    assert (stage_of(work_order), work_order.released_by) == (Stage.GONE, None)


def test_account_of_the_owner_does_not_cover_another_payer(ilse: Person, by: By) -> None:
    payer = Customer.objects.create(name="Ada Payer", phone="604 555 0199")
    visit = finished_job().work_order
    VisitPerson.objects.create(work_order=visit, part="payer", customer=payer, name=payer.name)
    draft = draft_invoice(visit.pk, by=by(ilse))
    work_order = told(issue_invoice(draft.pk, by=by(ilse)), ilse, by)
    Customer.objects.filter(pk=work_order.customer_id).update(is_account=True)

    with pytest.raises(Refused) as refusal:
        hand_back(work_order.pk, HOME, by=by(ilse))

    assert refusal.value.sentence == "There is still money owed on this work order. Take the payment first."
    assert way_home(work_order).owed_by == ("Ada Payer",)


def test_owner_lets_a_boat_go_with_money_owed(ilse: Person, maren: Person, by: By) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "22.80", by=by(ilse))
    work_order = told(invoice, ilse, by)

    release_boat(work_order.pk, LET_GO, by=by(maren))

    assert (stage_of(work_order), work_order.gone_to) == (Stage.GONE, "Aud Nilsen")
    # 65.00 and 12 % is 72.80, of which 22.80 came in
    assert (work_order.released_by, work_order.released_owing_minor, work_order.release_reason) == (
        maren,
        5_000,
        "pays on Friday, known for years",
    )


def test_front_desk_lets_no_boat_go_unpaid(ilse: Person, by: By) -> None:
    work_order = told(issued(by=by(ilse)), ilse, by)

    with pytest.raises(NotAllowed) as refusal:
        release_boat(work_order.pk, LET_GO, by=by(ilse))

    assert refusal.value.sentence == "Only the owner lets a boat go with money owed on it."
    assert stage_of(work_order) == Stage.READY


def test_owner_does_not_release_what_is_not_billed(ilse: Person, maren: Person, by: By) -> None:
    work_order = told(drafted(by=by(ilse)), ilse, by)

    with pytest.raises(Refused) as refusal:
        release_boat(work_order.pk, LET_GO, by=by(maren))

    assert refusal.value.sentence == "The work is not billed yet. Issue the invoice first."


def test_owner_needs_no_release_when_nothing_is_owed(ilse: Person, maren: Person, by: By) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))
    work_order = told(invoice, ilse, by)

    with pytest.raises(Refused) as refusal:
        release_boat(work_order.pk, LET_GO, by=by(maren))

    assert refusal.value.sentence == "Nothing is owed on this work order. Hand the boat back."


@pytest.mark.parametrize(
    "data", [ReleaseInput(gone_to=" ", reason="x"), ReleaseInput(gone_to="A", reason="")]
)
def test_release_says_to_whom_and_why(ilse: Person, maren: Person, by: By, data: ReleaseInput) -> None:
    work_order = told(issued(by=by(ilse)), ilse, by)

    with pytest.raises(BadInput) as error:
        release_boat(work_order.pk, data, by=by(maren))

    assert error.value.field == ("reason" if data.gone_to == "A" else "gone_to")


def test_purchase_order_is_asked_for(ilse: Person, by: By) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))
    work_order = told(invoice, ilse, by)
    Customer.objects.filter(pk=work_order.customer_id).update(needs_purchase_order=True)

    with pytest.raises(Refused) as refusal:
        hand_back(work_order.pk, HOME, by=by(ilse))
    WorkOrder.objects.filter(pk=work_order.pk).update(purchase_order="PO 77")
    hand_back(work_order.pk, HOME, by=by(ilse))

    assert refusal.value.sentence == (
        "This customer needs a purchase order number on the work order. Ask for it first."
    )
    assert stage_of(work_order) == Stage.GONE


def test_job_without_an_outcome_keeps_the_boat(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.READY, outcome=Outcome.OPEN).work_order

    with pytest.raises(Refused) as refusal:
        tell_customer(work_order.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))

    assert refusal.value.sentence == "Job 1 has not ended: say first what came of it."


def test_what_is_here_goes_with_the_boat(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.READY, outcome=Outcome.DECLINED).work_order
    record_custody(work_order.pk, CustodyInput(thing="keys", move="in", place="hook 4"), by=by(ilse))
    tell_customer(work_order.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))

    hand_back(work_order.pk, HOME, by=by(ilse))

    out = CustodyEntry.objects.filter(move="out").order_by("thing")
    assert list(out.values_list("thing", "who")) == [("boat", "Aud Nilsen"), ("keys", "Aud Nilsen")]
    assert (stage_of(work_order), work_order.is_boat_here) == (Stage.GONE, False)


def test_nothing_is_waited_for_after_the_boat_is_gone(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.READY, outcome=Outcome.DECLINED).work_order
    hold = HoldInput(kind=Hold.WEATHER, chase_date=by(ilse).at.date(), chaser=ilse.pk)
    place_hold(work_order.pk, hold, by=by(ilse))
    tell_customer(work_order.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))

    hand_back(work_order.pk, HOME, by=by(ilse))

    assert list(PlacedHold.objects.values_list("released_at", "released_by")) == [(by(ilse).at, ilse.pk)]


@pytest.mark.parametrize("stage", [Stage.BOOKED, Stage.HERE, Stage.DIAGNOSIS])
def test_visit_is_called_off_before_anything_came_of_it(ilse: Person, by: By, stage: Stage) -> None:
    work_order = job_at(stage).work_order

    cancel_visit(work_order.pk, OFF, by=by(ilse))

    assert (stage_of(work_order), work_order.cancelled_reason) == (Stage.CANCELLED, "sold the boat")
    assert (Job.objects.get().stage, work_order.is_boat_here) == (Stage.CANCELLED, False)


def test_draft_nobody_saw_is_no_obstacle(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.DIAGNOSIS).work_order
    start_quote(work_order.pk, by=by(ilse))

    cancel_visit(work_order.pk, OFF, by=by(ilse))

    assert stage_of(work_order) == Stage.CANCELLED


def log_an_hour(job: Job, ilse: Person, by: By) -> None:
    log_time(job.pk, LogTimeInput(minutes=60, person=ilse.pk), by=by(ilse))


def ask(job: Job, ilse: Person, by: By) -> None:
    sent_quote(ilse, at=by(ilse).at, work_order=job.work_order)


def take_a_deposit(job: Job, ilse: Person, by: By) -> None:
    Payment.objects.create(
        work_order=job.work_order,
        amount_minor=100,
        method="cash",
        received_at=by(ilse).at,
        taken_by=ilse,
    )


def bill(job: Job, ilse: Person, by: By) -> None:
    Invoice.objects.create(
        work_order=job.work_order, customer=job.work_order.customer, created_at=by(ilse).at
    )


def go_on(job: Job, _ilse: Person, _by: By) -> None:
    Job.objects.create(work_order=job.work_order, position=2, complaint="x", stage=Stage.IN_HAND)


@pytest.mark.parametrize(
    ("tie", "sentence"),
    [
        (log_an_hour, "Work is logged on this visit. Say for each job how it ended instead."),
        (ask, "The customer was asked by a quote. Say for each job how it ended instead."),
        (take_a_deposit, "Money was taken for this visit, so it can't be called off. Give it back first."),
        (bill, "There is an invoice for this visit, so it can't be called off."),
        (go_on, "A job has gone on already. Say for each job how it ended instead."),
    ],
)
def test_visit_with_ties_is_not_called_off(
    ilse: Person, by: By, tie: Callable[[Job, Person, By], None], sentence: str
) -> None:
    job = job_at(Stage.DIAGNOSIS)
    tie(job, ilse, by)
    before = Activity.objects.count()

    with pytest.raises(Refused) as refusal:
        cancel_visit(job.work_order_id, OFF, by=by(ilse))

    assert (refusal.value.sentence, Activity.objects.count()) == (sentence, before)


def test_struck_row_is_no_tie(ilse: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    log_an_hour(job, ilse, by)
    job.timeentrys.update(struck_at=by(ilse).at, struck_by=ilse, struck_reason="wrong boat")

    cancel_visit(job.work_order_id, OFF, by=by(ilse))

    assert stage_of(job.work_order) == Stage.CANCELLED


def test_visit_is_called_off_once(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.HERE).work_order
    cancel_visit(work_order.pk, OFF, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        cancel_visit(work_order.pk, OFF, by=by(ilse))

    assert refusal.value.sentence == "This visit is over already."


@pytest.mark.parametrize(
    ("data", "field"),
    [(CancelInput(reason=" ", gone_to="A"), "reason"), (CancelInput(reason="sold"), "gone_to")],
)
def test_calling_off_says_why_and_who_takes_the_boat(
    ilse: Person, by: By, data: CancelInput, field: str
) -> None:
    work_order = job_at(Stage.HERE).work_order

    with pytest.raises(BadInput) as error:
        cancel_visit(work_order.pk, data, by=by(ilse))

    assert (error.value.field, stage_of(work_order)) == (field, Stage.HERE)


def test_technician_calls_nothing_off(tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    with pytest.raises(NotAllowed):
        cancel_visit(job.work_order_id, OFF, by=by(tobiah))


def test_second_finished_job_changes_nothing_about_the_first(ilse: Person, by: By) -> None:
    """A visit goes home whole: the bill of one job does not let the other go unbilled."""
    invoice = issued(by=by(ilse))
    paid(invoice, "72.80", by=by(ilse))
    finished_job(work_order=invoice.work_order)
    work_order = told(invoice, ilse, by)

    with pytest.raises(Refused) as refusal:
        hand_back(work_order.pk, HOME, by=by(ilse))

    assert refusal.value.sentence == "The work is not billed yet. Issue the invoice first."

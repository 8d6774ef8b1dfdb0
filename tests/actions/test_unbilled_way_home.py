"""Work on no bill keeps a boat: rows of jobs billed by what was used, and rows that nobody agreed to."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.payments import PaymentInput, take_payment
from shopapp.actions.refusals import Refused
from shopapp.actions.work_orders import HandBackInput, TellInput, hand_back, tell_customer
from shopapp.calc.money import from_minor
from shopapp.models import (
    FluidEntry,
    Invoice,
    Job,
    Outcome,
    PartUsed,
    Person,
    PriceKind,
    Stage,
    TimeEntry,
    ToldHow,
    WorkOrder,
)
from shopapp.queries.invoices import has_unbilled_rows
from shopapp.queries.unbilled import unbilled
from tests.factories.intakes import signed, unsigned
from tests.factories.invoices import DECIDED_AT
from tests.factories.jobs import agreed_job, job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
HOME = HandBackInput(gone_to="Aud Nilsen")
NOT_BILLED = "The work is not billed yet. Issue the invoice first."
NO_WORD = (
    "Logged work is on no bill: it has no price, or nobody agreed to it. Price it, ask the customer, let the "
    "shop pay it, or strike it out."
)
AS_USED = [PriceKind.CEILING, PriceKind.TIME_AND_MATERIAL]
# one impeller at 40.00
PART = {"description": "Impeller", "quantity_milli": 1_000, "unit_price_e4": 400_000}


def log(job: Job, person: Person, **columns: object) -> PartUsed:
    """A part on a job that is over, as if it had been logged in time."""
    at = DECIDED_AT + timedelta(hours=1)
    moments = {"logged_by": person, "happened_at": at, "recorded_at": at}
    return PartUsed.objects.create(job=job, **moments | PART | columns)


def hour_of_diagnosis(job: Job, person: Person) -> TimeEntry:
    at = DECIDED_AT + timedelta(hours=1)
    return TimeEntry.objects.create(
        job=job,
        person=person,
        kind="diagnosis",
        minutes=60,
        unit_price_e4=1_200_000,
        logged_by=person,
        happened_at=at,
        recorded_at=at,
    )


def told(visit: WorkOrder, ilse: Person, by: By) -> WorkOrder:
    return tell_customer(visit.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))


def billed_and_paid(visit: WorkOrder, ilse: Person, by: By) -> Invoice:
    invoice = issue_invoice(draft_invoice(visit.pk, by=by(ilse)).pk, by=by(ilse))
    if invoice.total_minor:
        all_of_it = PaymentInput(amount=from_minor(invoice.total_minor, currency="CAD"), method="card")
        take_payment(invoice.pk, all_of_it, by=by(ilse))
    return invoice


def answer(visit: WorkOrder, ilse: Person, by: By) -> str:
    """What stands in the way, in a sentence; nothing when the boat went."""
    try:
        hand_back(visit.pk, HOME, by=by(ilse))
    except Refused as refusal:
        return refusal.sentence
    return ""


@pytest.mark.parametrize("kind", AS_USED)
def test_row_on_no_bill_keeps_the_boat(ilse: Person, by: By, kind: PriceKind) -> None:
    job = agreed_job(Stage.READY, price_kind=kind)
    log(job, ilse)
    visit = told(job.work_order, ilse, by)

    before = answer(visit, ilse, by)
    billed_and_paid(visit, ilse, by)

    assert (before, answer(visit, ilse, by)) == (NOT_BILLED, "")


@pytest.mark.parametrize("kind", AS_USED)
def test_row_logged_after_the_bill_keeps_the_boat(ilse: Person, by: By, kind: PriceKind) -> None:
    job = agreed_job(Stage.READY, price_kind=kind)
    log(job, ilse)
    billed_and_paid(job.work_order, ilse, by)
    visit = told(job.work_order, ilse, by)
    log(job, ilse)

    before = answer(visit, ilse, by), has_unbilled_rows(visit)
    billed_and_paid(visit, ilse, by)

    assert (before, answer(visit, ilse, by)) == ((NOT_BILLED, True), "")


@pytest.mark.parametrize(
    "columns", [{"unit_price_e4": 9_000_000}, {"unit_price_e4": None}], ids=["beyond", "not priced"]
)
def test_row_without_a_word_keeps_the_boat(ilse: Person, by: By, columns: dict[str, object]) -> None:
    job = agreed_job(Stage.READY, price_kind=PriceKind.TIME_AND_MATERIAL)
    row = log(job, ilse, **columns)
    visit = told(job.work_order, ilse, by)

    before = answer(visit, ilse, by), has_unbilled_rows(visit)
    PartUsed.objects.filter(pk=row.pk).update(payer="shop", payer_reason="we broke it")

    assert before == (NO_WORD, True)
    assert (has_unbilled_rows(visit), answer(visit, ilse, by)) == (False, "")


def test_bill_of_nothing_but_such_rows_is_refused_with_the_reason(ilse: Person, by: By) -> None:
    job = agreed_job(Stage.READY, price_kind=PriceKind.TIME_AND_MATERIAL)
    log(job, ilse, unit_price_e4=None)

    with pytest.raises(Refused) as refusal:
        draft_invoice(job.work_order_id, by=by(ilse))

    assert refusal.value.sentence.startswith("Nothing can be billed yet: what was logged has no price")


def test_extra_part_in_a_fixed_price_keeps_nobody(ilse: Person, by: By) -> None:
    job = agreed_job(Stage.READY)
    log(job, ilse)
    visit = told(job.work_order, ilse, by)
    billed_and_paid(visit, ilse, by)

    assert (has_unbilled_rows(visit), unbilled(visit).waiting, answer(visit, ilse, by)) == (False, (), "")


def test_row_of_a_declined_job_keeps_the_boat(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY, outcome=Outcome.DECLINED)
    row = log(job, ilse)
    visit = told(job.work_order, ilse, by)

    before = answer(visit, ilse, by)
    PartUsed.objects.filter(pk=row.pk).update(
        struck_at=DECIDED_AT, struck_by=ilse, struck_reason="other boat"
    )

    assert (before, answer(visit, ilse, by)) == (NO_WORD, "")


def test_hours_inside_the_diagnosis_fee_keep_nobody(ilse: Person, by: By, now: object) -> None:
    job = job_at(Stage.READY, outcome=Outcome.DECLINED)
    signed(unsigned(at=now, work_order=job.work_order, spending_limit_minor=0), ilse, at=now)
    hour_of_diagnosis(job, ilse)
    visit = told(job.work_order, ilse, by)

    before = answer(visit, ilse, by), has_unbilled_rows(visit)
    invoice = billed_and_paid(visit, ilse, by)

    assert before == (NOT_BILLED, True)
    # the fee of 80.00 alone
    assert [line.description for line in invoice.lines.all()] == ["Diagnosis fee"]
    assert (has_unbilled_rows(visit), answer(visit, ilse, by)) == (False, "")


def test_fluid_that_was_only_drained_is_nothing_to_bill(ilse: Person, by: By) -> None:
    job = agreed_job(Stage.READY, price_kind=PriceKind.TIME_AND_MATERIAL)
    at = DECIDED_AT + timedelta(hours=1)
    drained = {"point": "gearcase", "product": "oil", "drained_ml": 700}
    FluidEntry.objects.create(job=job, logged_by=ilse, happened_at=at, recorded_at=at, **drained)

    assert (has_unbilled_rows(job.work_order), unbilled(job.work_order).lines) == (False, ())

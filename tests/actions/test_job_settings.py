"""Jobs added to an open visit, how they are set, and the earlier job that one comes from (invariant 6)."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.job_settings import (
    CauseInput,
    JobInput,
    SettingsInput,
    add_job,
    edit_settings,
    name_cause,
)
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.actions.work_orders import TellInput, tell_customer
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Job, JobAssignment, Outcome, Payer, Person, PriceKind, Stage, ToldHow
from shopapp.models import TestKind as Kind
from tests.factories import EngineFactory, JobFactory, WorkOrderFactory
from tests.factories.invoices import finished_job
from tests.factories.jobs import agreed_job, job_at
from tests.factories.quotes import sent_quote

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
TRIM = JobInput(
    complaint="Trim is stuck", test_kind=Kind.HOSE, price_kind=PriceKind.CEILING, payer=Payer.SHOP
)


def settings_of(job: Job, **changes: object) -> SettingsInput:
    """The settings a job has, with some changes."""
    return SettingsInput(
        **{
            "engine": job.engine_id,
            "price_kind": PriceKind(job.price_kind),
            "test_kind": Kind(job.test_kind),
            "payer": Payer(job.payer),
        }
        | changes
    )


def test_desk_adds_a_job_to_an_engine_of_the_boat(ilse: Person, by: By) -> None:
    first = job_at(Stage.HERE)
    port = EngineFactory(vessel=first.work_order.vessel)

    job = add_job(first.work_order_id, replace(TRIM, engine=port.pk), by=by(ilse))

    assert (job.position, job.stage, job.engine, job.complaint) == (2, Stage.HERE, port, "Trim is stuck")
    assert (job.price_kind, job.payer, job.test_kind) == ("ceiling", "shop", "hose")
    assert [entry.verb for entry in Activity.objects.all()] == ["add job"]


def test_technician_writes_down_what_more_was_found(tobiah: Person, by: By) -> None:
    first = agreed_job(Stage.IN_HAND, technician=tobiah)

    job = add_job(first.work_order_id, TRIM, by=by(tobiah))

    first.work_order.refresh_from_db()
    assert (job.stage, first.work_order.stage) == (Stage.DIAGNOSIS, Stage.DIAGNOSIS)
    assert list(JobAssignment.objects.filter(job=job).values_list("person", flat=True)) == [tobiah.pk]
    # how it is billed, and to whom, is the desk's to say
    assert (job.price_kind, job.payer) == (PriceKind.FIXED, Payer.CUSTOMER)


def test_new_job_takes_the_word_ready_back(ilse: Person, by: By) -> None:
    work_order = finished_job().work_order
    tell_customer(work_order.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))

    add_job(work_order.pk, TRIM, by=by(ilse))

    work_order.refresh_from_db()
    assert (work_order.stage, work_order.told_at, work_order.told_how) == (Stage.DIAGNOSIS, None, "")


@pytest.mark.parametrize(
    ("data", "field"),
    [(replace(TRIM, complaint=" "), "complaint"), (replace(TRIM, engine=999_999), "engine")],
)
def test_job_needs_words_and_an_engine_of_this_boat(ilse: Person, by: By, data: JobInput, field: str) -> None:
    work_order = job_at(Stage.HERE).work_order

    with pytest.raises(BadInput) as error:
        add_job(work_order.pk, data, by=by(ilse))

    assert (error.value.field, work_order.jobs.count()) == (field, 1)


def test_engine_of_another_boat_is_not_taken(ilse: Person, by: By) -> None:
    other, work_order = job_at(Stage.HERE), job_at(Stage.HERE).work_order

    with pytest.raises(BadInput, match=r"^engine"):
        add_job(work_order.pk, replace(TRIM, engine=other.engine_id), by=by(ilse))


def test_closed_visit_takes_no_job(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.CANCELLED).work_order

    with pytest.raises(Refused) as refusal:
        add_job(work_order.pk, TRIM, by=by(ilse))

    assert refusal.value.sentence == "This visit is over. Open a new work order for what else is wrong."


def test_technician_of_another_boat_adds_nothing(wen: Person, by: By) -> None:
    work_order = job_at(Stage.HERE).work_order

    with pytest.raises(NotAllowed):
        add_job(work_order.pk, TRIM, by=by(wen))


def test_job_is_set_anew(ilse: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    data = SettingsInput(
        engine=None, price_kind=PriceKind.TIME_AND_MATERIAL, test_kind=Kind.TANK, payer=Payer.MAKER
    )

    saved = edit_settings(job.pk, data, version=1, by=by(ilse))

    assert (saved.engine, saved.price_kind, saved.test_kind, saved.payer, saved.version) == (
        None,
        "time",
        "tank",
        "maker",
        2,
    )


def test_second_who_sets_is_told_t22(ilse: Person, maren: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    edit_settings(job.pk, settings_of(job, test_kind=Kind.TANK), version=1, by=by(ilse))

    with pytest.raises(Stale) as stale:
        edit_settings(job.pk, settings_of(job, test_kind=Kind.HOSE), version=1, by=by(maren))

    assert stale.value.record.test_kind == "tank"


@pytest.mark.parametrize("is_answered", [False, True])
def test_price_kind_stays_as_the_customer_has_it(ilse: Person, by: By, is_answered: bool) -> None:
    job = agreed_job(Stage.IN_LINE) if is_answered else job_at(Stage.DIAGNOSIS)
    if not is_answered:
        sent_quote(ilse, at=by(ilse).at, work_order=job.work_order)

    with pytest.raises(BadInput) as error:
        edit_settings(job.pk, settings_of(job, price_kind=PriceKind.CEILING), version=1, by=by(ilse))
    edit_settings(job.pk, settings_of(job, payer=Payer.SHOP), version=1, by=by(ilse))

    assert (error.value.field, error.value.accepted) == (
        "price_kind",
        "Fixed price: the customer has it on a quote",
    )
    job.refresh_from_db()
    assert (job.price_kind, job.payer) == ("fixed", "shop")


def test_technician_sets_nothing(tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    with pytest.raises(NotAllowed):
        edit_settings(job.pk, settings_of(job, payer=Payer.SHOP), version=1, by=by(tobiah))


def earlier(job: Job, **changes: object) -> Job:
    """A job that was done on the same boat eleven days before."""
    visit = WorkOrderFactory(
        vessel=job.work_order.vessel,
        customer=job.work_order.customer,
        stage=Stage.GONE,
        opened_at=job.work_order.opened_at - timedelta(days=11),
        gone_at=job.work_order.opened_at - timedelta(days=10),
    )
    return JobFactory(**{"work_order": visit, "stage": Stage.GONE, "outcome": Outcome.DONE} | changes)


def test_owner_names_where_a_job_comes_from_and_it_is_found_both_ways(maren: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    elder = earlier(job)

    name_cause(job.pk, CauseInput(job=elder.pk), version=1, by=by(maren))

    job.refresh_from_db()
    assert (job.caused_by_job, list(elder.comebacks.all())) == (elder, [job])
    entry = Activity.objects.get()
    assert (entry.verb, entry.work_order) == ("name cause", None)


@pytest.mark.parametrize("is_same", [True, False, None])
def test_owner_judges_whether_it_is_the_same_cause(maren: Person, by: By, is_same: bool | None) -> None:
    job = job_at(Stage.DIAGNOSIS)

    saved = name_cause(
        job.pk, CauseInput(job=earlier(job).pk, is_for_same_cause=is_same), version=1, by=by(maren)
    )

    assert saved.is_for_same_cause is is_same


def test_new_fault_has_no_cause_to_be_the_same(maren: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)

    saved = name_cause(job.pk, CauseInput(job=None, is_for_same_cause=True), version=1, by=by(maren))

    assert (saved.caused_by_job, saved.is_for_same_cause) == (None, None)


def test_owner_takes_the_word_back(maren: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    named = CauseInput(job=earlier(job).pk, is_for_same_cause=True)
    name_cause(job.pk, named, version=1, by=by(maren))

    name_cause(job.pk, CauseInput(job=None), version=2, by=by(maren))

    job.refresh_from_db()
    assert (job.caused_by_job, job.is_for_same_cause) == (None, None)


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_nobody_else_says_where_a_job_comes_from(
    request: pytest.FixtureRequest, tobiah: Person, by: By, who: str
) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    elder = earlier(job)

    with pytest.raises(NotAllowed):
        name_cause(job.pk, CauseInput(job=elder.pk), version=1, by=by(request.getfixturevalue(who)))


def test_cause_is_an_earlier_job_of_this_boat_or_engine(maren: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS)
    elder = earlier(job)
    moved = finished_job(engine=job.engine)
    type(moved.work_order).objects.filter(pk=moved.work_order_id).update(
        opened_at=job.work_order.opened_at - timedelta(days=30)
    )
    sibling = JobFactory(work_order=job.work_order, position=2, outcome=Outcome.DONE)
    stranger, unfinished = finished_job(), earlier(job, outcome=Outcome.OPEN)
    refused = []

    for other in (job, sibling, stranger, unfinished):
        try:
            name_cause(job.pk, CauseInput(job=other.pk), version=1, by=by(maren))
        except BadInput as error:
            refused.append(error.field)
    for version, other in enumerate((elder, moved), start=1):
        name_cause(job.pk, CauseInput(job=other.pk), version=version, by=by(maren))

    job.refresh_from_db()
    assert (refused, job.caused_by_job) == (["job"] * 4, moved)

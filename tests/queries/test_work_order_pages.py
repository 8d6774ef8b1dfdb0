"""The course of a visit, and what the page of each role holds."""

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, LogTimeInput, log_fluid, log_time
from shopapp.actions.custody import CustodyInput, record_custody
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.quotes import start_quote
from shopapp.actions.work_orders import TellInput, tell_customer
from shopapp.models import (
    FluidCondition,
    HourReading,
    Job,
    Outcome,
    Person,
    QuoteRevision,
    RevisionState,
    Stage,
    ToldHow,
    WorkOrder,
)
from shopapp.models import TestKind as Kind
from shopapp.queries.answers import Agreed, AgreedAmount
from shopapp.queries.work_order_pages import path_of, work_order_page
from tests.factories import JobFactory, PersonFactory
from tests.factories.invoices import finished_job, issued, paid
from tests.factories.jobs import agreed_job, job_at
from tests.factories.quotes import answered, sent_quote

TODAY = date(2026, 6, 2)
By = Callable[[Person], Actor]
MILKY = LogFluidInput(
    point="Gearcase", product="Gear oil", drained_ml=820, filled_ml=780, condition=FluidCondition.MILKY
)
DONE = Job(outcome=Outcome.DONE, test_kind=Kind.WATER)
UNTESTED = Job(outcome=Outcome.DONE, test_kind=Kind.NONE)
DECLINED = Job(outcome=Outcome.DECLINED)


@pytest.mark.parametrize(
    ("stage", "jobs", "states"),
    [
        (Stage.HERE, [Job()], "now ahead ahead ahead ahead ahead ahead ahead"),
        (Stage.BOOKED, [Job()], "now ahead ahead ahead ahead ahead ahead ahead ahead"),
        (Stage.IN_HAND, [Job()], "done done done done now ahead ahead ahead"),
        (Stage.READY, [DONE], "done done done done done done now ahead"),
        (Stage.READY, [UNTESTED], "done done done done done skip now ahead"),
        (Stage.READY, [DECLINED], "done done done skip skip skip now ahead"),
        (Stage.READY, [DECLINED, DONE], "done done done done done done now ahead"),
        (Stage.GONE, [DONE], "done done done done done done done now"),
        (Stage.CANCELLED, [Job()], "skip skip skip skip skip skip skip skip"),
    ],
)
def test_path_shows_where_a_visit_has_been(stage: Stage, jobs: list[Job], states: str) -> None:
    path = path_of(WorkOrder(stage=stage), jobs)

    assert " ".join(step.state for step in path) == states


def test_path_draws_signs_with_words() -> None:
    path = path_of(WorkOrder(stage=Stage.HERE), [])

    assert [(step.code, step.word) for step in path][:3] == [
        ("here", "Here"),
        ("diagnosis", "Diagnosis"),
        ("with-customer", "With customer"),
    ]


@pytest.mark.django_db
def test_page_of_a_technician_holds_no_amounts(tobiah: Person, ilse: Person, now: object) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    answered(sent_quote(ilse, at=now, work_order=job.work_order), ilse, at=now)
    job.work_order.refresh_from_db()

    page = work_order_page(job.work_order, viewer=tobiah, today=TODAY, currency="CAD", locale="en")

    assert (page.desk, [type(one) for one in page.agreed]) == (None, [Agreed])
    assert {"with_tax", "without_tax"} & {field.name for one in page.agreed for field in fields(one)} == set()


@pytest.mark.django_db
def test_page_of_the_desk_holds_what_was_agreed(ilse: Person, now: object) -> None:
    job = job_at(Stage.DIAGNOSIS)
    revision = sent_quote(ilse, at=now, work_order=job.work_order)
    approval = answered(revision, ilse, at=now)
    job.work_order.refresh_from_db()

    page = work_order_page(job.work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    assert page.desk is not None
    assert [(one.quote, one.is_approved, one.choices, type(one)) for one in page.agreed] == [
        (revision.quote.number, True, ("Job 1: New seals on the old shaft",), AgreedAmount)
    ]
    # 2.5 h at 120.00, two seals at 18.40, 0.75 L at 24.00 is 354.80; 5 % on labour, 12 % on goods: 21.58
    assert (page.agreed[0].without_tax, page.agreed[0].with_tax) == (Decimal("354.80"), Decimal("376.38"))
    assert approval.with_tax_minor == 37_638


@pytest.mark.django_db
def test_each_job_leads_to_its_own_quote(ilse: Person, by: By) -> None:
    first = job_at(Stage.DIAGNOSIS, cause="Seal cut")
    visit = first.work_order
    second, third, fourth = (
        JobFactory(work_order=visit, position=place, cause="Worn", stage=Stage.DIAGNOSIS)
        for place in (2, 3, 4)
    )
    asked = [start_quote(visit.pk, by=by(ilse), jobs=[job.pk]) for job in (first, second, third)]
    frozen = {"sent_at": by(ilse).at, "tax_date": TODAY, "shown": "{}", "shown_sha256": "0" * 64}
    for revision, job in zip(asked[:2], (first, second), strict=True):
        QuoteRevision.objects.filter(pk=revision.pk).update(state=RevisionState.SENT, **frozen)
        Job.objects.filter(pk=job.pk).update(stage=Stage.WITH_CUSTOMER)

    page = work_order_page(visit, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    steps = [card.next.step for card in page.jobs]
    assert [(step.url_name, step.pk) for step in steps if step is not None] == [
        ("quotes:preview", asked[0].pk),
        ("quotes:preview", asked[1].pk),
        ("quotes:edit", asked[2].pk),
        ("quotes:choose", visit.pk),
    ]
    assert fourth.pk == page.jobs[3].pk


@pytest.mark.django_db
def test_page_says_once_where_each_thing_is(ilse: Person, by: By) -> None:
    visit = job_at(Stage.IN_LINE).work_order
    visit.place, visit.keys_tag, visit.trailer = "Yard 4", "17", "Grey, two axles"
    visit.save()
    for thing, move in (("keys", "in"), ("keys", "out")):
        record_custody(visit.pk, CustodyInput(thing=thing, move=move, who="Aud"), by=by(ilse))
        visit.refresh_from_db()

    page = work_order_page(visit, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    assert [(one.word, one.what, one.is_here, one.place, one.who) for one in page.where] == [
        ("Where it is", "", True, "Yard 4", ""),
        ("Keys", "tag 17", False, "", "Aud"),
        ("Trailer", "Grey, two axles", None, "", ""),
    ]


@pytest.mark.django_db
def test_boat_that_went_home_is_with_somebody(ilse: Person, by: By) -> None:
    visit = job_at(Stage.IN_LINE).work_order
    record_custody(visit.pk, CustodyInput(thing="boat", move="out", who="Aud"), by=by(ilse))
    visit.refresh_from_db()

    boat = work_order_page(visit, viewer=ilse, today=TODAY, currency="CAD", locale="en").where[0]

    assert (boat.is_here, boat.place, boat.who, boat.since) == (False, "", "Aud", by(ilse).at)


@pytest.mark.django_db
def test_bill_of_a_visit_is_what_is_owed(ilse: Person, by: By) -> None:
    invoice = issued(by=by(ilse))
    paid(invoice, "20.00", by=by(ilse))

    page = work_order_page(invoice.work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    # one gasket set at 65.00 and 12 % is 72.80; 20.00 came in
    assert page.desk is not None
    assert [(one.number, one.total, one.owed) for one in page.desk.invoices] == [
        (invoice.number, Decimal("72.80"), Decimal("52.80"))
    ]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("stage", "may_quote"),
    [(Stage.HERE, True), (Stage.DIAGNOSIS, True), (Stage.WITH_CUSTOMER, False), (Stage.READY, False)],
)
def test_quote_may_be_written_before_it_is_sent(ilse: Person, stage: Stage, may_quote: bool) -> None:
    work_order = job_at(stage).work_order

    page = work_order_page(work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    assert page.desk is not None
    assert page.desk.may_quote is may_quote


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("stage", "outcome", "may_bill"),
    [
        (Stage.IN_LINE, Outcome.OPEN, False),
        (Stage.IN_HAND, Outcome.OPEN, False),
        (Stage.TEST, Outcome.OPEN, False),
        (Stage.READY, Outcome.DONE, True),
        # agreed first, called off later
        (Stage.READY, Outcome.DECLINED, False),
    ],
)
def test_invoice_may_be_written_for_what_has_ended(
    ilse: Person, stage: Stage, outcome: Outcome, may_bill: bool
) -> None:
    work_order = agreed_job(stage, outcome=outcome).work_order

    page = work_order_page(work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    assert page.desk is not None
    assert page.desk.may_bill is may_bill


@pytest.mark.django_db
def test_second_job_is_billed_after_the_first(ilse: Person, by: By) -> None:
    first = issued(by=by(ilse))
    visit, steps = first.work_order, []
    tell_customer(visit.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))
    paid(first, "72.80", by=by(ilse))
    finished_job(work_order=visit)
    visit.refresh_from_db()

    for invoiced in (False, True):
        if invoiced:
            paid(issue_invoice(draft_invoice(visit.pk, by=by(ilse)).pk, by=by(ilse)), "72.80", by=by(ilse))
        page = work_order_page(visit, viewer=ilse, today=TODAY, currency="CAD", locale="en")
        assert page.desk is not None
        steps.append((page.desk.may_bill, page.desk.next.sentence))

    assert steps == [
        (True, "The customer knows. Now the invoice."),
        (False, "Nothing is owed. The boat may go home."),
    ]


@pytest.mark.django_db
def test_card_shows_the_newest_hours(ilse: Person, now: object) -> None:
    job = job_at(Stage.HERE)
    for tenths in (4_000, 4_125):
        HourReading.objects.create(engine=job.engine, tenths=tenths, source="meter", read_at=now)

    page = work_order_page(job.work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    engine = page.jobs[0].engine
    assert engine is not None
    assert (engine.words, engine.hours) == ("Petrel Marine P60", Decimal("412.5"))


@pytest.mark.django_db
def test_job_on_the_boat_itself_has_no_engine(ilse: Person) -> None:
    job = job_at(Stage.HERE, engine=None)

    page = work_order_page(job.work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    assert page.jobs[0].engine is None


@pytest.mark.django_db
def test_desk_offers_technicians_who_work_here(ilse: Person, wen: Person) -> None:
    PersonFactory(name="Gone Away", is_technician=True, is_active=False)
    job = job_at(Stage.HERE)

    page = work_order_page(job.work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en")

    assert [person.name for person in page.jobs[0].others] == ["Wen Okafor"]


@pytest.mark.django_db
def test_technician_is_offered_once(ilse: Person, wen: Person, tobiah: Person) -> None:
    job = job_at(Stage.HERE, technician=wen)

    card = work_order_page(job.work_order, viewer=ilse, today=TODAY, currency="CAD", locale="en").jobs[0]

    assert ([one.name for one in card.technicians], [one.name for one in card.others]) == (
        ["Wen Okafor"],
        ["Tobiah Reyes"],
    )


@pytest.mark.django_db
def test_three_books_stand_side_by_side(ilse: Person, tobiah: Person, by: By) -> None:
    invoice = issued(by=by(ilse))
    job = agreed_job(Stage.READY, technician=tobiah, work_order=invoice.work_order, position=2)
    Job.objects.filter(pk=job.pk).update(stage=Stage.IN_HAND, outcome=Outcome.OPEN)
    log_time(job.pk, LogTimeInput(minutes=90), by=by(tobiah))

    pages = [
        work_order_page(invoice.work_order, viewer=one, today=TODAY, currency="CAD", locale="en")
        for one in (ilse, tobiah)
    ]

    # two seals at 18.40, a litre of oil at 24.00 and 2.5 h at 115.00
    books = [card.books for card in pages[0].jobs]
    assert [(one.planned, one.logged, one.hours, one.billed) for one in books if one is not None] == [
        (Decimal("65.00"), 0, "", Decimal("65.00")),
        (Decimal("348.30"), 1, "1 h 30 min", None),
    ]
    assert [card.books for card in pages[1].jobs] == [None, None]


@pytest.mark.django_db
def test_story_asks_what_the_fluids_ask(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    clean = LogFluidInput(point="Engine", product="Engine oil", filled_ml=100)
    for one in (replace(clean, drained_ml=100, condition=FluidCondition.CLEAN), MILKY):
        log_fluid(job.pk, one, by=by(tobiah))

    page = work_order_page(job.work_order, viewer=tobiah, today=TODAY, currency="CAD", locale="en")

    assert [(one.point, one.said[0]) for one in page.jobs[0].fluids] == [
        ("Gearcase", "It came out milky: find where the water gets in.")
    ]

"""A boat arrives: everything is written in one go, or nothing is."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.actions.arrivals import ArrivalInput, ArrivalState, ArrivingEngine, LikelyKnown, open_work_order
from shopapp.actions.customers import CustomerInput
from shopapp.actions.engines import EngineInput, HoursInput
from shopapp.actions.intakes import TermsInput
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.vessels import VesselInput
from shopapp.actions.visit_people import PersonOnVisit
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    CustodyEntry,
    Customer,
    Engine,
    HourReading,
    Intake,
    Job,
    NumberSeries,
    Person,
    SearchText,
    Shop,
    Vessel,
    VisitPerson,
    WorkOrder,
)
from shopapp.queries.find import matching_ids
from tests.factories import CustomerFactory, EngineFactory, PersonFactory, VesselFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

ANNA = CustomerInput(name="Anna Berg", phone="604 555 0142")
SORREL = ArrivingEngine(engine=EngineInput(make="Sorrel"))
ALL_NEW = ArrivalInput(
    customer=ANNA,
    vessel=VesselInput(kept_on="trailer", name="Kittiwake"),
    engines=(
        ArrivingEngine(
            engine=EngineInput(make="Sorrel"),
            position="port",
            hours=HoursInput(tenths=4120, source="customer"),
        ),
    ),
    complaint="  Gear oil looks milky ",
    promised_date=date(2026, 6, 12),
)


def verbs() -> list[str]:
    return list(Activity.objects.order_by("seq").values_list("verb", flat=True))


def test_arrival_of_strangers_writes_everything(ilse: Person, tobiah: Person, wen: Person, by: By) -> None:
    opened = open_work_order(replace(ALL_NEW, technicians=(wen.pk, tobiah.pk)), by=by(ilse))

    opened.refresh_from_db()
    job = opened.jobs.get()
    assert (opened.number, opened.stage, opened.complaint) == ("W-00001", "here", "Gear oil looks milky")
    assert (opened.customer.name, opened.vessel.name) == ("Anna Berg", "Kittiwake")
    assert (opened.promised_date, opened.opened_at, opened.opened_by) == (
        date(2026, 6, 12),
        by(ilse).at,
        ilse,
    )
    assert opened.vessel.ownerships.get().customer == opened.customer
    assert (job.position, job.stage, job.complaint, job.test_kind) == (1, "here", opened.complaint, "water")
    assert (job.engine.make, job.engine.mountings.get().vessel, job.engine.mountings.get().position) == (
        "Sorrel",
        opened.vessel,
        "port",
    )
    assert job.engine.hour_readings.get().tenths == 4120
    assert set(job.assignments.values_list("person", flat=True)) == {tobiah.pk, wen.pk}


def test_arrival_is_indexed_and_remembered(ilse: Person, tobiah: Person, by: By) -> None:
    opened = open_work_order(replace(ALL_NEW, technicians=(tobiah.pk,)), by=by(ilse))

    entry = Activity.objects.get(verb="open work order")
    assert verbs() == ["add customer", "add boat", "add engine", "read hours", "open work order", "take in"]
    assert (entry.record, entry.work_order) == (f"workorder:{opened.pk}", opened)
    assert json.loads(entry.payload) == {"number": "W-00001", "technicians": "Tobiah Reyes", "test": "water"}
    assert first_bad_link() is None
    kinds = SearchText.objects.order_by("kind").values_list("kind", flat=True)
    assert list(kinds) == ["customer", "engine", "vessel", "workorder"]
    assert matching_ids("5550142", kinds=["customer"]) == [("customer", opened.customer_id)]


def test_known_boat_comes_with_its_owner(ilse: Person, by: By) -> None:
    vessel = VesselFactory()
    engine = EngineFactory(vessel=vessel)
    data = ArrivalInput(
        customer=None,
        vessel=vessel.pk,
        engines=(ArrivingEngine(engine=engine.pk),),
        complaint="Does not start",
    )

    opened = open_work_order(data, by=by(ilse))

    assert opened.customer == vessel.ownerships.get().customer
    assert (opened.vessel, opened.jobs.get().engine) == (vessel, engine)
    assert (Customer.objects.count(), Vessel.objects.count(), Engine.objects.count()) == (1, 1, 1)
    assert verbs() == ["open work order", "take in"]


def test_known_boat_with_new_owner_changes_hands(ilse: Person, by: By) -> None:
    vessel = VesselFactory()
    seller = vessel.ownerships.get().customer

    opened = open_work_order(replace(ALL_NEW, vessel=vessel.pk), by=by(ilse))

    spans = list(vessel.ownerships.order_by("pk").values_list("customer", "until_date"))
    assert spans == [(seller.pk, date(2026, 6, 2)), (opened.customer_id, None)]
    assert verbs() == [
        "add customer",
        "change owner",
        "add engine",
        "read hours",
        "open work order",
        "take in",
    ]


def test_job_on_the_boat_needs_no_engine(ilse: Person, by: By) -> None:
    opened = open_work_order(replace(ALL_NEW, engines=(), is_about_boat=True), by=by(ilse))

    assert (opened.jobs.get().engine, Engine.objects.count()) == (None, 0)


@pytest.mark.parametrize(
    "customer",
    [
        CustomerInput(name="ANNA  BERG", phone="604 555 9999"),
        CustomerInput(name="Somebody Else", phone="+1 (604) 555-0142"),
        CustomerInput(name="Somebody Else", phone="5550142"),
    ],
)
def test_likely_known_customer_is_asked_about(ilse: Person, by: By, customer: CustomerInput) -> None:
    open_work_order(ALL_NEW, by=by(ilse))

    with pytest.raises(LikelyKnown) as question:
        open_work_order(replace(ALL_NEW, customer=customer), by=by(ilse))

    assert question.value.field == "likely"
    assert (Customer.objects.count(), WorkOrder.objects.count()) == (1, 1)


def test_somebody_new_with_a_known_name_is_taken(ilse: Person, by: By) -> None:
    open_work_order(ALL_NEW, by=by(ilse))

    opened = open_work_order(replace(ALL_NEW, is_somebody_new=True), by=by(ilse))

    assert (opened.number, Customer.objects.count()) == ("W-00002", 2)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"complaint": "  "}, "complaint"),
        ({"promised_date": date(2026, 6, 1)}, "promised_date"),
        ({"promised_date": date(2029, 1, 1)}, "promised_date"),
        ({"test_kind": "moon"}, "test_kind"),
        ({"engines": ()}, "engine"),
        ({"engines": (replace(SORREL, is_about=False),)}, "engine"),
        ({"engines": (ArrivingEngine(engine=0),)}, "engine"),
        ({"state": ArrivalState(fuel="diesel")}, "fuel"),
        ({"terms": TermsInput(spending_limit=Decimal("-1"))}, "spending_limit"),
        ({"terms": TermsInput(diagnosis_fee=Decimal("80.005"))}, "diagnosis_fee"),
        ({"people": (PersonOnVisit(part="payer", customer=0),)}, "payer"),
        ({"people": (PersonOnVisit(part="bringer", name=" "),)}, "bringer_name"),
        ({"people": (PersonOnVisit(part="collector", name="Bo", up_to=Decimal(5)),)}, "approver_up_to"),
        ({"vessel": 0}, "vessel"),
        ({"customer": 0}, "customer"),
        ({"customer": None}, "customer"),
        ({"technicians": (0,)}, "technicians"),
        ({"customer": replace(ANNA, phone="–")}, "phone"),
        ({"vessel": VesselInput(kept_on="")}, "kept_on"),
        ({"engines": (ArrivingEngine(engine=EngineInput(serial_state="read")),)}, "serial"),
        ({"engines": (replace(SORREL, hours=HoursInput(tenths=1, source="")),)}, "hours_source"),
    ],
)
def test_odd_arrival_writes_nothing_at_all(
    ilse: Person, by: By, change: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        open_work_order(replace(ALL_NEW, **change), by=by(ilse))

    assert refusal.value.field == field
    tables = (
        Customer,
        Vessel,
        Engine,
        HourReading,
        WorkOrder,
        Job,
        Intake,
        VisitPerson,
        CustodyEntry,
        Activity,
        SearchText,
        NumberSeries,
    )
    assert [model.objects.count() for model in tables] == [0] * len(tables)


def test_engine_of_another_boat_is_refused(ilse: Person, by: By) -> None:
    vessel, stranger = VesselFactory(), EngineFactory(vessel=VesselFactory())

    with pytest.raises(BadInput, match="engine"):
        open_work_order(
            ArrivalInput(
                customer=None,
                vessel=vessel.pk,
                engines=(ArrivingEngine(engine=stranger.pk),),
                complaint="Leaks",
            ),
            by=by(ilse),
        )

    assert WorkOrder.objects.count() == 0


def test_boat_without_owner_asks_for_one(ilse: Person, by: By) -> None:
    vessel = VesselFactory()
    vessel.ownerships.update(until_date=date(2026, 3, 1))

    with pytest.raises(BadInput, match="customer"):
        open_work_order(
            ArrivalInput(customer=None, vessel=vessel.pk, is_about_boat=True, complaint="Leaks"), by=by(ilse)
        )

    assert WorkOrder.objects.count() == 0


@pytest.mark.parametrize("is_active", [True, False])
def test_only_active_technicians_are_assigned(ilse: Person, by: By, is_active: bool) -> None:
    person = PersonFactory(is_technician=is_active, is_active=not is_active)

    with pytest.raises(BadInput, match="technicians"):
        open_work_order(replace(ALL_NEW, technicians=(person.pk,)), by=by(ilse))

    assert WorkOrder.objects.count() == 0


def test_technician_may_not_open_work_order(tobiah: Person, by: By) -> None:
    with pytest.raises(NotAllowed):
        open_work_order(ALL_NEW, by=by(tobiah))

    assert Customer.objects.count() == 0


def test_promise_counts_days_of_the_shop(ilse: Person, by: By) -> None:
    late = replace(by(ilse), at=datetime(2026, 6, 3, 3, 0, tzinfo=UTC))  # the evening of 2 June in the shop

    opened = open_work_order(replace(ALL_NEW, promised_date=date(2026, 6, 2)), by=late)

    assert opened.vessel.ownerships.get().from_date == date(2026, 6, 2)


TWINS = (
    ArrivingEngine(
        engine=EngineInput(make="Sorrel", model="S90", serial="S-1", serial_state="read"),
        position="port",
        hours=HoursInput(tenths=4120, source="meter"),
        is_about=False,
    ),
    ArrivingEngine(
        engine=EngineInput(make="Sorrel", model="S90", serial="S-2", serial_state="read"),
        position="starboard",
        hours=HoursInput(tenths=4133, source="meter"),
    ),
)


@pytest.mark.parametrize(
    ("about", "is_boat", "on"),
    [
        ((False, True), False, ["S-2"]),
        ((True, True), False, ["S-1", "S-2"]),
        ((True, True), True, ["S-1", "S-2", None]),
        ((False, False), True, [None]),
    ],
)
def test_each_chosen_engine_gets_a_job(
    ilse: Person, tobiah: Person, by: By, about: tuple[bool, ...], is_boat: bool, on: list[str | None]
) -> None:
    twins = tuple(replace(one, is_about=is_it) for one, is_it in zip(TWINS, about, strict=True))
    data = replace(ALL_NEW, engines=twins, is_about_boat=is_boat, technicians=(tobiah.pk,))

    opened = open_work_order(data, by=by(ilse))

    jobs = opened.jobs.order_by("position")
    assert list(jobs.values_list("engine__serial", flat=True)) == on
    assert [job.position for job in jobs] == list(range(1, len(on) + 1))
    assert {job.assignments.get().person for job in jobs} == {tobiah}
    places = list(opened.vessel.mountings.order_by("pk").values_list("engine__serial", "position"))
    assert places == [("S-1", "port"), ("S-2", "starboard")]
    assert list(HourReading.objects.order_by("pk").values_list("tenths", flat=True)) == [4120, 4133]


def test_hours_are_read_of_an_engine_the_complaint_is_not_about(ilse: Person, by: By) -> None:
    vessel = VesselFactory()
    port, starboard = EngineFactory(vessel=vessel), EngineFactory(vessel=vessel)
    engines = (
        ArrivingEngine(engine=port.pk, hours=HoursInput(tenths=100, source="meter"), is_about=False),
        ArrivingEngine(engine=starboard.pk),
    )

    opened = open_work_order(
        ArrivalInput(customer=None, vessel=vessel.pk, engines=engines, complaint="Leaks"), by=by(ilse)
    )

    assert (opened.jobs.get().engine, port.hour_readings.get().tenths) == (starboard, 100)


def test_engine_given_twice_is_refused(ilse: Person, by: By) -> None:
    vessel = VesselFactory()
    twice = (ArrivingEngine(engine=EngineFactory(vessel=vessel).pk),) * 2

    with pytest.raises(BadInput, match="engine"):
        open_work_order(
            ArrivalInput(customer=None, vessel=vessel.pk, engines=twice, complaint="Leaks"), by=by(ilse)
        )

    assert WorkOrder.objects.count() == 0


def test_state_at_arrival_is_kept_and_taken_into_custody(ilse: Person, by: By) -> None:
    state = ArrivalState(
        fuel="half",
        keys_tag=" 17 ",
        loose_gear="Anchor\nTwo vests",
        trailer="Grey, no lamp",
        place="Yard 4",
        seen="Scratch to port",
    )
    bringer = PersonOnVisit(part="bringer", name="Bo Holm")

    opened = open_work_order(replace(ALL_NEW, state=state, people=(bringer,)), by=by(ilse))

    opened.refresh_from_db()
    assert (opened.fuel, opened.keys_tag, opened.loose_gear) == ("half", "17", "Anchor\nTwo vests")
    assert (opened.trailer, opened.arrival_state) == ("Grey, no lamp", "Scratch to port")
    assert (opened.place, opened.is_boat_here) == ("Yard 4", True)
    rows = CustodyEntry.objects.order_by("pk").values_list("thing", "move", "who", "place", "note")
    assert list(rows) == [
        ("boat", "in", "Bo Holm", "Yard 4", ""),
        ("trailer", "in", "Bo Holm", "", "Grey, no lamp"),
        ("keys", "in", "Bo Holm", "", "17"),
        ("gear", "in", "Bo Holm", "", "Anchor Two vests"),
    ]


def test_people_are_on_the_visit(ilse: Person, by: By) -> None:
    payer = CustomerFactory(name="Harbour Insurance", phone="604 555 0777")
    people = (
        PersonOnVisit(part="approver", name=" Cleo Dahl ", phone="604 555 0888", up_to=Decimal(500)),
        PersonOnVisit(part="payer", customer=payer.pk),
    )

    opened = open_work_order(replace(ALL_NEW, people=people, purchase_order=" PO-9 "), by=by(ilse))

    rows = opened.people.order_by("part").values_list("part", "name", "phone", "customer", "up_to_minor")
    assert list(rows) == [
        ("approver", "Cleo Dahl", "604 555 0888", None, 50_000),
        ("payer", "Harbour Insurance", "604 555 0777", payer.pk, None),
    ]
    assert opened.purchase_order == "PO-9"


@pytest.mark.parametrize("is_usual", [True, False])
def test_terms_begin_unsigned(ilse: Person, by: By, is_usual: bool) -> None:
    Shop.objects.update(diagnosis_fee_minor=8_000, spending_limit_minor=25_000, limit_comes_on_top=True)
    own = TermsInput(diagnosis_fee=Decimal("95.50"), may_run=True, wants_parts_back=True)

    opened = open_work_order(replace(ALL_NEW, terms=None if is_usual else own), by=by(ilse))

    intake = opened.intakes.get()
    amounts = (intake.diagnosis_fee_minor, intake.spending_limit_minor, intake.limit_comes_on_top)
    assert amounts == ((8_000, 25_000, True) if is_usual else (9_550, 0, False))
    assert (intake.may_run, intake.may_move, intake.may_launch) == (True, is_usual, False)
    assert (intake.wants_parts_back, intake.signed_at) == (not is_usual, None)

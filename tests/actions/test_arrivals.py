"""A boat arrives: everything is written in one go, or nothing is."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.actions.arrivals import ArrivalInput, LikelyKnown, NewEngine, open_work_order
from shopapp.actions.customers import CustomerInput
from shopapp.actions.engines import EngineInput, HoursInput
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.vessels import VesselInput
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    Customer,
    Engine,
    HourReading,
    Job,
    NumberSeries,
    Person,
    SearchText,
    Vessel,
    WorkOrder,
)
from shopapp.queries.find import matching_ids
from tests.factories import EngineFactory, PersonFactory, VesselFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

ANNA = CustomerInput(name="Anna Berg", phone="604 555 0142")
ALL_NEW = ArrivalInput(
    customer=ANNA,
    vessel=VesselInput(kept_on="trailer", name="Kittiwake"),
    engine=NewEngine(engine=EngineInput(make="Sorrel"), position="port"),
    hours=HoursInput(tenths=4120, source="customer"),
    complaint="  Gear oil looks milky ",
    arrival_state="Half a tank, two keys",
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
    data = ArrivalInput(customer=None, vessel=vessel.pk, engine=engine.pk, complaint="Does not start")

    opened = open_work_order(data, by=by(ilse))

    assert opened.customer == vessel.ownerships.get().customer
    assert (opened.vessel, opened.jobs.get().engine) == (vessel, engine)
    assert (Customer.objects.count(), Vessel.objects.count(), Engine.objects.count()) == (1, 1, 1)
    assert verbs() == ["open work order", "take in"]


def test_known_boat_with_new_owner_changes_hands(ilse: Person, by: By) -> None:
    vessel = VesselFactory()
    seller = vessel.ownerships.get().customer

    opened = open_work_order(replace(ALL_NEW, vessel=vessel.pk, hours=None), by=by(ilse))

    spans = list(vessel.ownerships.order_by("pk").values_list("customer", "until_date"))
    assert spans == [(seller.pk, date(2026, 6, 2)), (opened.customer_id, None)]
    assert verbs() == ["add customer", "change owner", "add engine", "open work order", "take in"]


def test_job_on_the_boat_needs_no_engine(ilse: Person, by: By) -> None:
    opened = open_work_order(replace(ALL_NEW, engine=None, hours=None), by=by(ilse))

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
        ({"engine": None}, "hours"),
        ({"engine": 0}, "engine"),
        ({"vessel": 0}, "vessel"),
        ({"customer": 0}, "customer"),
        ({"customer": None}, "customer"),
        ({"technicians": (0,)}, "technicians"),
        ({"customer": replace(ANNA, phone="–")}, "phone"),
        ({"vessel": VesselInput(kept_on="")}, "kept_on"),
        ({"engine": NewEngine(engine=EngineInput(serial_state="read"))}, "serial"),
        ({"hours": HoursInput(tenths=1, source="")}, "hours_source"),
    ],
)
def test_odd_arrival_writes_nothing_at_all(
    ilse: Person, by: By, change: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        open_work_order(replace(ALL_NEW, **change), by=by(ilse))

    assert refusal.value.field == field
    tables = (Customer, Vessel, Engine, HourReading, WorkOrder, Job, Activity, SearchText, NumberSeries)
    assert [model.objects.count() for model in tables] == [0] * len(tables)


def test_engine_of_another_boat_is_refused(ilse: Person, by: By) -> None:
    vessel, stranger = VesselFactory(), EngineFactory(vessel=VesselFactory())

    with pytest.raises(BadInput, match="engine"):
        open_work_order(
            ArrivalInput(customer=None, vessel=vessel.pk, engine=stranger.pk, complaint="Leaks"), by=by(ilse)
        )

    assert WorkOrder.objects.count() == 0


def test_boat_without_owner_asks_for_one(ilse: Person, by: By) -> None:
    vessel = VesselFactory()
    vessel.ownerships.update(until_date=date(2026, 3, 1))

    with pytest.raises(BadInput, match="customer"):
        open_work_order(
            ArrivalInput(customer=None, vessel=vessel.pk, engine=None, complaint="Leaks"), by=by(ilse)
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

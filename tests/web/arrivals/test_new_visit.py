"""Taking a boat in: twins and triples, the state it came in, the people, the terms."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions import search_texts
from shopapp.models import CustodyEntry, Customer, Engine, HourReading, Intake, Person, VisitPerson, WorkOrder
from tests.factories import CustomerFactory, EngineFactory, VesselFactory

ADDRESS = "/arrivals/new/"
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
JOB = {"complaint": "Gear oil looks milky", "test_kind": "water"}
STRANGER = JOB | {"name": "Anna Berg", "phone": "604 555 0142", "kept_on": "trailer", "engine": "new"}
PAIR = {
    "engine_make": "Sorrel",
    "engine_model": "S90",
    "serial": "S-1",
    "hours": "412",
    "starboard_serial": "S-2",
    "starboard_hours": "413.5",
    "hours_source": "meter",
}


@pytest.mark.parametrize(
    ("typed", "engines", "jobs"),
    [
        (
            {"engine_count": "2", "about": ["starboard"]},
            [("port", "S-1", "read"), ("starboard", "S-2", "read")],
            ["S-2"],
        ),
        (
            {"engine_count": "3", "about": ["port", "centre"]},
            [("port", "S-1", "read"), ("centre", "", "not_looked"), ("starboard", "S-2", "read")],
            ["S-1", ""],
        ),
        (
            {"engine_count": "3", "about": ["centre"], "serial_state": "unreadable"},
            [("port", "S-1", "unreadable"), ("centre", "", "unreadable"), ("starboard", "S-2", "read")],
            [""],
        ),
        (
            {"engine_count": "2", "engine": ["none"]},
            [("port", "S-1", "read"), ("starboard", "S-2", "read")],
            [None],
        ),
        (
            {"engine_count": "2", "engine": ["new", "none"], "about": ["port"]},
            [("port", "S-1", "read"), ("starboard", "S-2", "read")],
            ["S-1", None],
        ),
    ],
)
def test_engines_are_written_down_in_one_go(
    ilse: Person,
    signed_in: SignedIn,
    key: Key,
    typed: dict[str, object],
    engines: list[tuple[str, ...]],
    jobs: list[str | None],
) -> None:
    response = signed_in(ilse).post(ADDRESS, STRANGER | PAIR | typed | key())

    order = WorkOrder.objects.get()
    assert response.status_code == 302
    rows = order.vessel.mountings.order_by("pk")
    assert list(rows.values_list("position", "engine__serial", "engine__serial_state")) == engines
    assert {row.engine.model for row in rows} == {"S90"}
    assert list(order.jobs.order_by("position").values_list("engine__serial", flat=True)) == jobs
    assert list(HourReading.objects.order_by("pk").values_list("tenths", flat=True)) == [4120, 4135]


def test_single_engine_stays_single(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    signed_in(ilse).post(ADDRESS, STRANGER | {"engine_count": "1", "serial": "S-1", "about": "port"} | key())

    assert WorkOrder.objects.get().vessel.mountings.get().position == "single"


def test_each_chosen_known_engine_gets_a_job_and_hours(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    vessel = VesselFactory()
    port, starboard = EngineFactory(vessel=vessel), EngineFactory(vessel=vessel)
    typed = {"engine": [str(starboard.pk), "none"], f"hours_{port.pk}": "99.5", "hours_source": "meter"}

    signed_in(ilse).post(f"{ADDRESS}?vessel={vessel.pk}", JOB | typed | key())

    order = WorkOrder.objects.get()
    assert list(order.jobs.order_by("position").values_list("engine", flat=True)) == [starboard.pk, None]
    assert (port.hour_readings.get().tenths, Engine.objects.count()) == (995, 2)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"engine_make": "Sorrel"}, "You wrote down another engine below."),
        ({"engine": []}, "What is it about? is missing."),
        ({"hours": "5", "hours_source": "meter"}, "Choose the engine that has these hours."),
    ],
)
def test_slip_about_a_known_engine_is_told(
    ilse: Person, signed_in: SignedIn, key: Key, typed: dict[str, object], sentence: str
) -> None:
    vessel = VesselFactory()
    engine = EngineFactory(vessel=vessel)

    response = signed_in(ilse).post(
        f"{ADDRESS}?vessel={vessel.pk}", JOB | {"engine": [str(engine.pk)]} | typed | key()
    )

    assert (response.status_code, sentence in response.content.decode()) == (422, True)
    assert WorkOrder.objects.count() == 0


def test_state_people_and_terms_are_kept(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    search_texts.index(CustomerFactory(name="Harbour Insurance"))
    typed = {
        "fuel": "half",
        "keys_tag": "17",
        "place": "Yard 4",
        "trailer": "Grey",
        "loose_gear": "Anchor",
        "arrival_state": "Scratch to port",
        "bringer_name": "Bo Holm",
        "approver_name": "Cleo Dahl",
        "approver_up_to": "1,500",
        "payer": "harbour ins",
        "purchase_order": "PO-9",
        "diagnosis_fee": "95.50",
        "spending_limit": "300",
        "may_launch": "on",
    }

    signed_in(ilse).post(ADDRESS, STRANGER | typed | key())

    order = WorkOrder.objects.get()
    assert (order.fuel, order.keys_tag, order.place, order.trailer) == ("half", "17", "Yard 4", "Grey")
    assert (order.loose_gear, order.arrival_state, order.purchase_order) == (
        "Anchor",
        "Scratch to port",
        "PO-9",
    )
    assert dict(VisitPerson.objects.values_list("part", "name")) == {
        "bringer": "Bo Holm",
        "approver": "Cleo Dahl",
        "payer": "Harbour Insurance",
    }
    assert VisitPerson.objects.get(part="approver").up_to_minor == 150_000
    assert {row.who for row in CustodyEntry.objects.all()} == {"Bo Holm"}
    terms = Intake.objects.get()
    assert (terms.diagnosis_fee_minor, terms.spending_limit_minor, terms.may_run, terms.may_launch) == (
        9_550,
        30_000,
        False,
        True,
    )


def test_payers_are_asked_about_and_the_fold_stands_open(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    first, second = CustomerFactory(name="Harbour Insurance"), CustomerFactory(name="Harbour Master")
    search_texts.index(first, second)
    client, typed = signed_in(ilse), STRANGER | {"payer": "harbour"}

    asked = client.post(ADDRESS, typed | key()).content.decode()
    client.post(ADDRESS, typed | {"payer_pk": str(second.pk)} | key())

    assert ("Several fit. Say which of them pays." in asked, '<details class="fold" open>' in asked) == (
        True,
        True,
    )
    assert VisitPerson.objects.get().customer == second


def test_customer_who_needs_an_order_number_is_asked_for_it(
    ilse: Person, signed_in: SignedIn, shop: object
) -> None:
    owner = CustomerFactory()
    vessel = VesselFactory(owner=owner)
    client = signed_in(ilse)

    pages = []
    for is_needed in (False, True):
        Customer.objects.update(needs_purchase_order=is_needed)
        pages.append(client.get(ADDRESS, {"vessel": vessel.pk}).content.decode())

    places = [page.index('id="id_purchase_order"') < page.index('id="id_fuel"') for page in pages]
    assert places == [False, True]

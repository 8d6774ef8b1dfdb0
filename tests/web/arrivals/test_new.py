"""Taking a boat in: nothing is asked twice, nothing typed is lost, nothing is written twice."""

from collections.abc import Callable
from datetime import date, timedelta
from html import escape

import pytest
from django.contrib.messages import get_messages
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Activity, Customer, Engine, Job, Person, Vessel, WorkOrder
from tests.factories import CustomerFactory, EngineFactory, JobFactory, VesselFactory, WorkOrderFactory
from tests.web.shared.hostile import NASTY_NAMES, row_counts, troubles_with_bad_values

ADDRESS = "/arrivals/new/"
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
JOB = {"complaint": "Gear oil looks milky", "test_kind": "water"}
STRANGER = JOB | {"name": "Anna Berg", "phone": "604 555 0142", "kept_on": "trailer", "engine": "new"}


@pytest.fixture
def kittiwake(shop: object) -> Vessel:
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(name="Kittiwake", owner=owner)
    engine = EngineFactory(vessel=vessel, serial="PM60-00042")
    search_texts.index(owner, vessel, engine)
    return vessel


def names_of_fields(content: str) -> set[str]:
    """Names of the fields that the page's form shows."""
    known = ("name", "phone", "email", "kept_on", "boat_name", "hull_number", "engine", "complaint", "likely")
    return {name for name in known if f'name="{name}"' in content}


def test_new_for_nobody_asks_everything(ilse: Person, signed_in: SignedIn) -> None:
    before = row_counts()

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert names_of_fields(content) == {
        "name",
        "phone",
        "email",
        "kept_on",
        "boat_name",
        "hull_number",
        "engine",
        "complaint",
    }
    assert 'id="find-question"' in content
    assert row_counts() == before


def test_new_for_a_known_boat_asks_for_the_job_only(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel
) -> None:
    WorkOrderFactory(vessel=kittiwake, number="W-00077", complaint="Would not start")

    content = signed_in(ilse).get(ADDRESS, {"vessel": kittiwake.pk}).content.decode()

    assert names_of_fields(content) == {"engine", "complaint"}
    assert ("This boat is here already:" in content, content.count(">W-00077</a>")) == (True, 1)
    engine = Engine.objects.get()
    assert f'name="engine" value="{engine.pk}" id="id_engine_0" checked' in content


def test_new_for_a_known_customer_offers_boats(ilse: Person, signed_in: SignedIn, kittiwake: Vessel) -> None:
    anna = Customer.objects.get()

    content = signed_in(ilse).get(ADDRESS, {"customer": anna.pk}).content.decode()

    assert names_of_fields(content) == {"kept_on", "boat_name", "hull_number", "engine", "complaint"}
    assert content.count(f'href="?vessel={kittiwake.pk}"') == 1


def test_new_opens_a_work_order_for_strangers(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    promised = timezone.now().date() + timedelta(days=10)
    typed = STRANGER | {
        "email": "anna@shop.example",
        "boat_name": "Kittiwake",
        "engine_make": "Sorrel",
        "serial": "S-1",
        "position": "port",
        "hours": "1,412.5",
        "hours_source": "customer",
        "technicians": [str(tobiah.pk)],
        "promised_date": promised.isoformat(),
        "arrival_state": "Two keys",
    }

    response = signed_in(ilse).post(ADDRESS, typed | key())

    order = WorkOrder.objects.get()
    job = order.jobs.get()
    assert (response.status_code, response.headers["Location"]) == (302, f"/arrivals/{order.pk}/taken-in/")
    assert (order.customer.name, order.customer.email) == ("Anna Berg", "anna@shop.example")
    assert (order.vessel.name, order.promised_date, order.arrival_state) == (
        "Kittiwake",
        promised,
        "Two keys",
    )
    assert (job.engine.make, job.engine.serial, job.engine.serial_state) == ("Sorrel", "S-1", "read")
    assert job.engine.hour_readings.get().tenths == 14125
    assert job.assignments.get().person == tobiah


def test_new_takes_a_known_boat_in(ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key) -> None:
    engine = Engine.objects.get()

    response = signed_in(ilse).post(
        f"{ADDRESS}?vessel={kittiwake.pk}", JOB | {"engine": str(engine.pk)} | key()
    )

    order = WorkOrder.objects.get()
    assert response.status_code == 302
    assert (order.vessel, order.customer, order.jobs.get().engine) == (
        kittiwake,
        Customer.objects.get(),
        engine,
    )


def test_double_click_makes_one_customer_t19(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(ilse), STRANGER | key()

    answers = [client.post(ADDRESS, sent) for _ in range(3)]

    order = WorkOrder.objects.get()
    assert [answer.headers.get("Location") for answer in answers] == [f"/arrivals/{order.pk}/taken-in/"] * 3
    assert (Customer.objects.count(), Vessel.objects.count(), order.number) == (1, 1, "W-00001")


def test_used_key_with_other_content_is_refused_t20(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(ilse), STRANGER | key()
    client.post(ADDRESS, sent)

    response = client.post(ADDRESS, sent | {"name": "Bo Holm", "phone": "604 555 0199"})

    assert (response.status_code, Customer.objects.count()) == (422, 1)


def test_likely_known_customer_is_asked_about(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    typed = STRANGER | {"name": "A. Berg", "phone": "+1 604-555-0142", "boat_name": "Second boat"}

    response = signed_in(ilse).post(ADDRESS, typed | key())

    content = response.content.decode()
    anna = Customer.objects.get()
    assert response.status_code == 422
    for piece in (
        "We seem to know this customer.",
        "Anna Berg, 604 555 0142: Kittiwake",
        "Anna Berg, 604 555 0142: another boat",
        "This is somebody new",
        f'href="/customers/{anna.pk}/" target="_blank"',
        'value="A. Berg"',
        'value="+1 604-555-0142"',
        'value="Second boat"',
        "Gear oil looks milky",
    ):
        assert piece in content, piece
    assert WorkOrder.objects.count() == 0


@pytest.mark.parametrize(("is_new", "owners"), [(True, ["A. Berg", "Anna Berg"]), (False, ["Anna Berg"])])
def test_desk_says_who_it_is(
    ilse: Person,
    signed_in: SignedIn,
    kittiwake: Vessel,
    key: Key,
    is_new: bool,
    owners: list[str],
) -> None:
    likely = "new" if is_new else str(Customer.objects.get().pk)
    typed = STRANGER | {"name": "A. Berg", "boat_name": "Second boat", "likely": likely}

    signed_in(ilse).post(ADDRESS, typed | key())

    order = WorkOrder.objects.get()
    assert (order.customer.name, order.vessel.name) == (owners[0], "Second boat")
    assert list(Customer.objects.order_by("name").values_list("name", flat=True)) == owners


@pytest.mark.parametrize("is_twin", [False, True])
def test_desk_says_it_is_a_known_boat(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key, is_twin: bool
) -> None:
    engine = Engine.objects.get()
    if is_twin:
        EngineFactory(vessel=kittiwake)
    client, sent = signed_in(ilse), STRANGER | {"likely": f"boat-{kittiwake.pk}"} | key()

    first = client.post(ADDRESS, sent)
    address = f"{ADDRESS}?vessel={kittiwake.pk}"
    second = client.post(address, JOB | {"engine": str(engine.pk)} | key()) if is_twin else first

    order = WorkOrder.objects.get()
    assert (first.status_code, second.status_code) == (422 if is_twin else 302, 302)
    assert (f'action="{address}"' in first.content.decode()) == is_twin
    assert (("Gear oil looks milky" in first.content.decode()), Vessel.objects.count()) == (is_twin, 1)
    assert (order.vessel, order.customer, order.jobs.get().engine) == (
        kittiwake,
        Customer.objects.get(),
        engine,
    )


def test_sold_boat_goes_to_its_new_owner(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    client, address = signed_in(ilse), f"{ADDRESS}?vessel={kittiwake.pk}&customer=new"

    page = client.get(address).content.decode()
    client.post(address, JOB | {"name": "Bo Holm", "phone": "604 555 0199", "engine": "none"} | key())

    assert names_of_fields(page) == {"name", "phone", "email", "engine", "complaint"}
    assert kittiwake.ownerships.get(until_date=None).customer.name == "Bo Holm"
    assert WorkOrder.objects.get().customer.name == "Bo Holm"


def test_hull_number_is_remarked_and_never_blocks(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, remark = signed_in(ilse), "It has 7 characters; a hull number has 12."

    part = client.get(ADDRESS, {"hull_number": "ABC1234"}, headers={"hx-request": "true"})
    response = client.post(ADDRESS, STRANGER | {"hull_number": "ABC1234"} | key())

    content = part.content.decode()
    assert (content.startswith('<div id="hull-remark">'), content.count(remark)) == (True, 1)
    assert (response.status_code, Vessel.objects.get().hull_number) == (302, "ABC1234")
    told = [str(message) for message in get_messages(response.wsgi_request)]
    assert told == [f"Look at the hull number again: {remark}"]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"name": ""}, "Name is missing. Please fill it in."),
        ({"phone": "none"}, "a telephone number with 5 digits or more"),
        ({"kept_on": ""}, "What is it on? is missing."),
        ({"complaint": " "}, "in the customer&#x27;s words is missing."),
        ({"engine": []}, "What is it about? is missing."),
        ({"engine": "99"}, "99 is not one of the available choices."),
        ({"engine_count": "2"}, "Say which of the engines it is about."),
        ({"engine_count": "2", "about": "centre"}, "Say which of the engines it is about."),
        (
            {"engine_count": "2", "about": "port", "centre_serial": "S-3"},
            "You wrote down more engines than this.",
        ),
        ({"starboard_hours": "5", "hours_source": "meter"}, "You wrote down more engines than this."),
        ({"starboard_hours": "5", "engine_count": "2", "about": "port"}, "Say where the hours come from."),
        ({"fuel": "diesel"}, "diesel is not one of the available choices."),
        ({"approver_up_to": "500"}, "Write the name as well."),
        ({"collector_phone": "604 555 0100"}, "Write the name as well."),
        ({"payer": "Nobody At All"}, "Nobody known here fits."),
        ({"spending_limit": "-1"}, "&quot;-1&quot; is not accepted."),
        ({"diagnosis_fee": "80.005"}, "&quot;80.005&quot; is not accepted."),
        (
            {"engine": "none", "hours": "5", "hours_source": "meter"},
            "Choose the engine that has these hours.",
        ),
        ({"hours": "5"}, "Say where the hours come from."),
        ({"hours": "12:30", "hours_source": "meter"}, "&quot;12:30&quot; is not accepted."),
        ({"serial_state": "read"}, "Write the serial, or say that the plate was not read."),
        ({"promised_date": "30/06/2026"}, "This is not a day. Write it like 2026-06-30."),
        ({"promised_date": "2001-01-01"}, "&quot;2001-01-01&quot; is not accepted. Give a day from"),
        ({"technicians": ["99"]}, "99 is not one of the available choices."),
        ({"test_kind": "moon"}, "moon is not one of the available choices."),
        ({"likely": "99"}, "99 is not one of the available choices."),
    ],
)
def test_odd_arrival_says_why_and_keeps_the_rest(
    ilse: Person, signed_in: SignedIn, key: Key, change: dict[str, object], sentence: str
) -> None:
    response = signed_in(ilse).post(ADDRESS, STRANGER | {"boat_name": "Kept as typed"} | change | key())

    content = response.content.decode()
    assert response.status_code == 422
    assert (sentence in content, 'value="Kept as typed"' in content) == (True, True)
    assert (Customer.objects.count(), WorkOrder.objects.count(), Activity.objects.count()) == (0, 0, 0)


def test_forged_fields_of_an_arrival_are_ignored_t02(
    ilse: Person, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    forged = {"number": "W-99999", "stage": "gone", "opened_by": str(maren.pk), "opened_at": "2001-01-01"}
    more = {"customer": "1", "vessel": "1", "is_tax_exempt": "on", "cost": "1", "price_kind": "free"}

    signed_in(ilse).post(ADDRESS, STRANGER | forged | more | key())

    order = WorkOrder.objects.get()
    assert (order.number, order.stage, order.opened_by) == ("W-00001", "here", ilse)
    assert (order.customer.is_tax_exempt, Job.objects.get().price_kind) == (False, "fixed")
    assert order.opened_at.date() > date(2020, 1, 1)


@pytest.mark.parametrize(
    "query",
    [
        "vessel=0",
        "customer=0",
        "vessel=x",
        "customer=",
        "vessel=-1",
        "vessel=1e3",
        f"vessel={10**30}",
        "vessel=٣",
    ],
)
def test_arrival_of_a_missing_row_is_404(ilse: Person, signed_in: SignedIn, key: Key, query: str) -> None:
    client = signed_in(ilse)

    answers = [client.get(f"{ADDRESS}?{query}"), client.post(f"{ADDRESS}?{query}", STRANGER | key())]

    assert [answer.status_code for answer in answers] == [404, 404]


def test_technician_may_not_take_a_boat_in(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(tobiah)

    answers = [client.get(ADDRESS), client.post(ADDRESS, STRANGER | key()), client.get(f"{ADDRESS}?vessel=0")]

    assert [answer.status_code for answer in answers] == [403, 403, 403]
    assert Customer.objects.count() == 0


def test_arrival_from_another_origin_is_refused_t14(ilse: Person, key: Key) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(ilse)

    response = client.post(ADDRESS, STRANGER | key(), headers={"origin": "https://evil.example"})

    assert (response.status_code, Customer.objects.count()) == (403, 0)


@pytest.mark.parametrize("body", [{}, {"once_key": "nonsense"}])
def test_arrival_without_its_key_is_refused(ilse: Person, signed_in: SignedIn, body: dict[str, str]) -> None:
    response = signed_in(ilse).post(ADDRESS, STRANGER | body)

    assert (response.status_code, Customer.objects.count()) == (422, 0)
    assert 'value="Anna Berg"' in response.content.decode()


@pytest.mark.parametrize("size", [1, 100])
def test_new_for_a_known_boat_takes_twelve_queries(
    ilse: Person,
    signed_in: SignedIn,
    kittiwake: Vessel,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client = signed_in(ilse)
    for _ in range(size):
        WorkOrderFactory(vessel=kittiwake)
        EngineFactory(vessel=kittiwake)
        gone = WorkOrderFactory(vessel=kittiwake, stage="gone", gone_at=timezone.now())
        JobFactory(work_order=gone, engine=None)

    with django_assert_num_queries(12):
        response = client.get(ADDRESS, {"vessel": kittiwake.pk})

    assert response.content.decode().count('name="engine"') == size + 3


@pytest.mark.parametrize("size", [1, 100])
def test_new_for_a_known_customer_takes_eight_queries(
    ilse: Person,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client, anna = signed_in(ilse), CustomerFactory()
    for _ in range(size):
        EngineFactory(vessel=VesselFactory(owner=anna))

    with django_assert_num_queries(8):
        response = client.get(ADDRESS, {"customer": anna.pk})

    assert response.content.decode().count('href="?vessel=') == size


def test_two_hundred_bad_values_are_answered(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    def good() -> dict[str, str]:
        return STRANGER | {"likely": "new", "hours_source": "meter"} | key()

    texts = ("name", "phone", "email", "kept_on", "boat_name", "boat_make", "hull_number", "engine_make")
    more = ("serial", "hours", "complaint", "promised_date", "arrival_state", "keys_tag", "payer")
    choices = (
        "likely",
        "engine",
        "engine_count",
        "about",
        "serial_state",
        "position",
        "hours_source",
        "fuel",
    )
    amounts = ("spending_limit", "approver_up_to")
    found = troubles_with_bad_values(
        signed_in(ilse), ADDRESS, good=good, fields=[*texts, *more, *choices, *amounts], hidden=choices
    )

    assert found == []


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, key: Key, name: str) -> None:
    owner = CustomerFactory(name=name)
    vessel = VesselFactory(owner=owner, name=name, kept_on=name, hull_number=name[:40])
    EngineFactory(vessel=vessel, make=name, serial=name)
    WorkOrderFactory(vessel=vessel, complaint=name)
    search_texts.index(owner)
    client = signed_in(ilse)

    pages = [
        client.get(ADDRESS, {"vessel": vessel.pk}),
        client.get(ADDRESS, {"customer": owner.pk}),
        client.post(ADDRESS, STRANGER | {"name": name, "boat_name": name} | key()),
        client.get(ADDRESS, {"hull_number": name}, headers={"hx-request": "true"}),
    ]

    contents = [page.content.decode() for page in pages]
    assert [name in content for content in contents] == [False] * 4
    assert [escape(name) in content for content in contents] == [True, True, True, False]

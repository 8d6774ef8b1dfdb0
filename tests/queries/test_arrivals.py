"""Finding whoever arrives, and what the counter needs."""

from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.actions.actor import Actor
from shopapp.actions.arrivals import ArrivalInput, open_work_order
from shopapp.models import Customer, EngineMounting, Invoice, Person, Vessel
from shopapp.queries.arrivals import Subject, Typed, arrival_page, find_page
from tests.conftest import NOW
from tests.factories import CustomerFactory, EngineFactory, JobFactory, VesselFactory, WorkOrderFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("shop")]


def kittiwake() -> Vessel:
    """Anna Berg's boat with a Petrel Marine P60 on it, all of it indexed."""
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(owner=owner, name="Kittiwake", hull_number="ABC 12345 D494")
    engine = EngineFactory(vessel=vessel, serial="PM60-00042")
    search_texts.index(owner, vessel, engine)
    return vessel


@pytest.mark.parametrize(
    "question",
    [
        "anna",
        "berg ann",
        "kittiw",
        "0142",
        "(604) 555",
        "abc12345d494",
        "12345",
        "pm6000042",
        "PM60-000",
        "petrel",
    ],
)
def test_boat_is_found_by_whatever_people_say(question: str) -> None:
    vessel = kittiwake()
    moment = datetime(2026, 5, 1, tzinfo=UTC)
    WorkOrderFactory(vessel=vessel, opened_at=moment)

    (boat,) = find_page(question).boats

    assert (boat.pk, boat.name, boat.owner, boat.phone) == (
        vessel.pk,
        "Kittiwake",
        "Anna Berg",
        "604 555 0142",
    )
    assert ([engine.serial for engine in boat.engines], boat.last_visit) == (["PM60-00042"], moment)


@pytest.mark.parametrize("question", ["", "  ", "zzz", "anna zzz", "%", "_", "'", '"'])
def test_what_does_not_fit_is_not_found(question: str) -> None:
    kittiwake()

    page = find_page(question)

    assert page.count == 0


def test_earlier_owner_and_engine_lead_nowhere() -> None:
    vessel = kittiwake()
    vessel.ownerships.update(until_date=date(2026, 2, 1))
    EngineMounting.objects.update(until_date=date(2026, 2, 1))

    by_owner, by_engine, by_boat = find_page("anna"), find_page("pm6000042"), find_page("kittiwake")

    assert (by_owner.boats, [one.name for one in by_owner.customers]) == ((), ["Anna Berg"])
    assert by_engine.count == 0
    assert [(boat.name, boat.owner_pk, boat.owner) for boat in by_boat.boats] == [("Kittiwake", None, "")]


def test_work_order_and_invoice_are_found_by_number(ilse: Person, by: Callable[[Person], Actor]) -> None:
    vessel = kittiwake()
    order = open_work_order(
        ArrivalInput(customer=None, vessel=vessel.pk, is_about_boat=True, complaint="Leaks"), by=by(ilse)
    )
    day, moment = date(2026, 6, 2), datetime(2026, 6, 2, tzinfo=UTC)
    invoice = Invoice.objects.create(
        work_order=order,
        customer=order.customer,
        number="INV-00007",
        created_at=moment,
        issued_at=moment,
        issue_date=day,
        tax_date=day,
        due_date=day,
        shown_sha256="0" * 64,
    )
    search_texts.index(invoice)

    (found_order,) = find_page("w-00001").work_orders
    (found_invoice,) = find_page("INV-00007").invoices

    assert (found_order.pk, found_order.boat, found_order.customer) == (order.pk, "Kittiwake", "Anna Berg")
    assert (found_invoice.pk, found_invoice.number, found_invoice.customer) == (
        invoice.pk,
        "INV-00007",
        "Anna Berg",
    )


@pytest.mark.parametrize(("size", "shown", "is_cut"), [(1, 1, False), (30, 30, False), (31, 30, True)])
def test_find_shows_thirty_boats_at_most(size: int, shown: int, is_cut: bool) -> None:
    owner = CustomerFactory(name="Charter Fleet")
    search_texts.index(owner)
    for _ in range(size):
        VesselFactory(owner=owner)

    page = find_page("charter")

    assert (len(page.boats), page.is_cut) == (shown, is_cut)


def test_find_page_bounds_an_endless_question() -> None:
    page = find_page("a b " * 5000)

    assert (len(page.question), page.count) == (100, 0)


@pytest.mark.parametrize("size", [1, 100])
def test_find_page_takes_eight_queries(size: int, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    for _ in range(size):
        owner = CustomerFactory(name="Anna Berg")
        vessel = VesselFactory(owner=owner, name="Anna's boat")
        engine = EngineFactory(vessel=vessel, make="Anna")
        search_texts.index(owner, vessel, engine)
        WorkOrderFactory(vessel=vessel)

    with django_assert_num_queries(8):
        page = find_page("anna")

    assert len(page.boats) == min(size, 20)


def test_arrival_of_nobody_known_asks_everything() -> None:
    page = arrival_page(Subject(), typed=Typed(), at=NOW)

    assert (page.customer, page.vessel, page.engines, page.visits, page.hull) == (None, None, (), (), None)


def test_arrival_of_a_known_boat_knows_its_story() -> None:
    vessel = kittiwake()
    old = WorkOrderFactory(vessel=vessel, stage="gone", gone_at=datetime(2026, 5, 1, tzinfo=UTC))
    JobFactory(work_order=old, engine=None)
    new = WorkOrderFactory(vessel=vessel, stage="test", opened_at=datetime(2026, 6, 2, tzinfo=UTC))

    page = arrival_page(Subject(vessel=vessel.pk), typed=Typed(), at=NOW)

    assert (page.customer.name, page.vessel.name) == ("Anna Berg", "Kittiwake")
    assert [engine.serial for engine in page.engines] == ["PM60-00042"]
    assert [visit.number for visit in page.visits] == [new.number]
    assert [job.number for job in page.lately] == [old.number]


def test_arrival_of_a_known_customer_offers_boats() -> None:
    vessel = kittiwake()

    page = arrival_page(Subject(customer=Customer.objects.get().pk), typed=Typed(), at=NOW)

    assert ([boat.pk for boat in page.boats], page.vessel) == ([vessel.pk], None)


def test_arrival_of_a_sold_boat_asks_for_its_owner() -> None:
    vessel = kittiwake()

    page = arrival_page(
        Subject(vessel=vessel.pk, is_owner_new=True), typed=Typed(name="Anna Berg", hull_number="X"), at=NOW
    )

    assert (page.customer, page.is_owner_new) == (None, True)
    assert [one.name for one in page.likely] == ["Anna Berg"]


@pytest.mark.parametrize(
    "subject",
    [
        Subject(vessel=0),
        Subject(customer=0),
        Subject(vessel=10**18 - 1),
        Subject(vessel=0, is_owner_new=True),
    ],
)
def test_arrival_of_a_missing_row_is_nothing(subject: Subject) -> None:
    assert arrival_page(subject, typed=Typed(), at=NOW) is None


@pytest.mark.parametrize("size", [1, 100])
def test_arrival_page_takes_nine_queries(
    size: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    vessel = kittiwake()
    for _ in range(size):
        WorkOrderFactory(vessel=vessel)
        JobFactory(work_order=WorkOrderFactory(vessel=vessel, stage="gone", gone_at=NOW), engine=None)
        EngineFactory(vessel=vessel)

    with django_assert_num_queries(9):
        page = arrival_page(Subject(vessel=vessel.pk), typed=Typed(), at=NOW)

    assert (len(page.engines), len(page.visits), len(page.lately)) == (
        size + 1,
        min(size, 6),
        min(size, 12),
    )

"""Customers as lists and pages, and who may be whom."""

from datetime import UTC, datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import search_texts
from shopapp.models import Customer
from shopapp.queries.customers import (
    customer_page,
    customers_page,
    likely_customers,
    phone_digits,
    vessel_page,
)
from tests.factories import CustomerFactory, EngineFactory, PersonFactory, VesselFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db


def known(**fields: str) -> Customer:
    row = CustomerFactory(**fields)
    search_texts.index(row)
    return row


@pytest.mark.parametrize(
    ("phone", "digits"),
    [
        ("(604) 555-0142", "6045550142"),
        ("+49 171 1234567", "491711234567"),
        ("６０４", "604"),
        ("none", ""),
        ("", ""),
    ],
)
def test_phone_digits_are_plain_figures(phone: str, digits: str) -> None:
    assert phone_digits(phone) == digits


@pytest.mark.parametrize(
    ("known_phone", "phone", "is_likely"),
    [
        ("604 555 0142", "604-555-0142", True),
        ("604 555 0142", "+1 604 555 0142", True),
        ("+1 (604) 555-0142", "6045550142", True),
        ("555 0142", "604 555 0142", True),
        ("0171 1234567", "+49 171 1234567", True),
        ("604 555 0142", "778 555 0142", False),
        ("604 555 0142", "0142", False),
        ("12345", "12345", True),
        ("12345", "912345", False),
        ("12345", "", False),
    ],
)
def test_same_telephone_makes_somebody_likely(known_phone: str, phone: str, is_likely: bool) -> None:
    known(name="Anna Berg", phone=known_phone)

    found = likely_customers(name="Somebody Else", phone=phone)

    assert [one.name for one in found] == (["Anna Berg"] if is_likely else [])


@pytest.mark.parametrize(
    ("name", "is_likely"),
    [
        ("Anna Berg", True),
        ("  anna   BERG ", True),
        ("Änna Berg", True),
        ("Anna", False),
        ("Anna Bergman", False),
        ("Berg", False),
        ("!!!", False),
        ("", False),
    ],
)
def test_same_name_makes_somebody_likely(name: str, is_likely: bool) -> None:
    known(name="Anna Berg", phone="604 555 0142")

    found = likely_customers(name=name, phone="778 555 9999")

    assert [one.name for one in found] == (["Anna Berg"] if is_likely else [])


def test_likely_customers_show_their_boats() -> None:
    anna = known(name="Anna Berg", phone="604 555 0142")
    for place in range(7):
        VesselFactory(owner=anna, name=f"Boat {place}")

    (found,) = likely_customers(name="Anna Berg", phone="")

    assert (found.pk, found.phone) == (anna.pk, "604 555 0142")
    assert [boat.name for boat in found.boats] == ["Boat 0", "Boat 1", "Boat 2", "Boat 3", "Boat 4"]


def test_customers_page_is_in_name_order() -> None:
    for name in ("Bo", "Anna", "Cora"):
        known(name=name)

    page = customers_page(question="", number=1)

    assert ([row.name for row in page.rows], page.pager.total) == (["Anna", "Bo", "Cora"], 3)


def test_customers_page_holds_every_word() -> None:
    for name in ("Anna Berg", "Anna Holm", "Bo Berg"):
        known(name=name)

    page = customers_page(question="berg anna", number=1)

    assert [row.name for row in page.rows] == ["Anna Berg"]


def test_customers_page_shows_boats_and_last_visit() -> None:
    anna = known(name="Anna Berg")
    vessel = VesselFactory(owner=anna, name="Kittiwake")
    for day in (1, 3, 2):
        WorkOrderFactory(vessel=vessel, opened_at=datetime(2026, 6, day, tzinfo=UTC))

    (row,) = customers_page(question="", number=1).rows

    assert (row.boats, row.last_visit) == ("Kittiwake", datetime(2026, 6, 3, tzinfo=UTC))


@pytest.mark.parametrize(("number", "count"), [(1, 50), (2, 10), (9, 10)])
def test_customers_come_in_pages_of_fifty(number: int, count: int) -> None:
    for place in range(60):
        CustomerFactory(name=f"Customer {place:03d}")

    page = customers_page(question="", number=number)

    assert (len(page.rows), page.pager.last) == (count, 2)


@pytest.mark.parametrize("size", [1, 100])
def test_customer_page_takes_four_queries(
    size: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    anna = CustomerFactory(name="Anna Berg")
    for _ in range(size):
        vessel = VesselFactory(owner=anna)
        EngineFactory(vessel=vessel)
        WorkOrderFactory(vessel=vessel)

    with django_assert_num_queries(4):
        page = customer_page(anna, number=1, viewer=PersonFactory.build())

    assert (len(page.boats), len(page.boats[0].engines), len(page.visits)) == (size, 1, min(size, 50))


@pytest.mark.parametrize(
    ("fields", "exemption"),
    [
        ({}, ""),
        ({"exemption_reason": "Band council", "exemption_number": "7"}, ""),
        ({"is_tax_exempt": True, "exemption_reason": "Band council"}, "Band council"),
        (
            {"is_tax_exempt": True, "exemption_reason": "Band council", "exemption_number": "77"},
            "Band council, 77",
        ),
    ],
)
def test_customer_page_says_why_no_tax(fields: dict[str, object], exemption: str) -> None:
    page = customer_page(CustomerFactory(**fields), number=1, viewer=PersonFactory.build())

    assert page.exemption == exemption


def test_vessel_page_reads_a_hull_number_being_typed() -> None:
    vessel = VesselFactory(name="Kittiwake", hull_number="ABC12345D494")

    page = vessel_page(vessel, hull_number="ABC")

    assert page.hull.remarks == ("It has 3 characters; a hull number has 12.",)
    assert page.owner.pk == vessel.ownerships.get().customer_id

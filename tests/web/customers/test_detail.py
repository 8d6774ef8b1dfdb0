"""Everything about one customer."""

from collections.abc import Callable
from html import escape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Person
from tests.factories import CustomerFactory, EngineFactory, VesselFactory, WorkOrderFactory
from tests.web.shared.hostile import NASTY_NAMES, row_counts

SignedIn = Callable[[Person], Client]


def test_detail_shows_contact_boats_and_visits(ilse: Person, signed_in: SignedIn) -> None:
    anna = CustomerFactory(
        name="Anna Berg", phone="604 555 0142", email="anna@shop.example", address="1 Slip Lane\nInlet"
    )
    vessel = VesselFactory(owner=anna, name="Kittiwake")
    engine = EngineFactory(vessel=vessel, serial="PM60-00042")
    order = WorkOrderFactory(vessel=vessel, stage="in_line")

    content = signed_in(ilse).get(f"/customers/{anna.pk}/").content.decode()

    for piece in (
        'href="tel:6045550142">604 555 0142</a>',
        'href="mailto:anna@shop.example"',
        "1 Slip Lane<br>Inlet",
        f'href="/customers/vessel/{vessel.pk}/">Kittiwake</a>',
        f'href="/customers/engine/{engine.pk}/">Petrel Marine P60</a>',
        f'href="/arrivals/new/?vessel={vessel.pk}"',
        f'href="/arrivals/new/?customer={anna.pk}"',
        f'href="/work-orders/{order.pk}/">{order.number}</a>',
        'class="chip stage-in-line"',
    ):
        assert content.count(piece) == 1, piece


def test_detail_of_an_empty_customer_says_what_next(ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(f"/customers/{CustomerFactory().pk}/").content.decode()

    assert content.count("No boat now. It is written down when it arrives.") == 1
    assert content.count("Not here yet. Take a boat in to open the first work order.") == 1


@pytest.mark.parametrize("size", [1, 100])
def test_detail_takes_eight_queries(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    client, anna = signed_in(ilse), CustomerFactory()
    for _ in range(size):
        vessel = VesselFactory(owner=anna)
        EngineFactory(vessel=vessel)
        WorkOrderFactory(vessel=vessel)

    with django_assert_num_queries(8):
        response = client.get(f"/customers/{anna.pk}/")

    assert response.content.decode().count('class="chip stage-here"') == min(size, 50)


def test_missing_customer_is_404(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    answers = [client.get(address) for address in ("/customers/1/", f"/customers/{10**30}/")]

    assert [answer.status_code for answer in answers] == [404, 404]


@pytest.mark.parametrize("pk", ["known", 0])
def test_technician_gets_403_whatever_the_id(tobiah: Person, signed_in: SignedIn, pk: object) -> None:
    known = CustomerFactory().pk

    response = signed_in(tobiah).get(f"/customers/{known if pk == 'known' else pk}/")

    assert response.status_code == 403


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, name: str) -> None:
    anna = CustomerFactory(name=name, phone=name[:40], email="x@b.example", address=name, note=name)
    vessel = VesselFactory(owner=anna, name=name, make=name, hull_number=name[:40], kept_on=name)
    EngineFactory(vessel=vessel, make=name, serial=name)
    WorkOrderFactory(vessel=vessel, complaint=name)
    before = row_counts()

    content = signed_in(ilse).get(f"/customers/{anna.pk}/").content.decode()

    assert name not in content
    assert escape(name) in content
    assert row_counts() == before

"""A boat is looked at and put right at the desk."""

from collections.abc import Callable
from datetime import date
from html import escape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Activity, Person, Vessel
from shopapp.web.customers.forms import VesselForm
from tests.factories import CustomerFactory, EngineFactory, VesselFactory, WorkOrderFactory
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import NASTY_NAMES, row_counts, troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {"version": "1", "kept_on": "berth 12", "name": "Kittiwake"}
REMARK = "It has 7 characters; a hull number has 12."


@pytest.fixture
def kittiwake(shop: object) -> Vessel:
    return VesselFactory(name="Kittiwake", kept_on="trailer", owner=CustomerFactory(name="Anna Berg"))


def address(row: Vessel) -> str:
    return f"/customers/vessel/{row.pk}/"


def test_vessel_page_shows_boat_engines_and_owners(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel
) -> None:
    engine = EngineFactory(vessel=kittiwake, serial="PM60-00042")
    order = WorkOrderFactory(vessel=kittiwake)
    buyer = CustomerFactory(name="Bo Holm")
    kittiwake.ownerships.update(until_date=date(2026, 5, 1))
    kittiwake.ownerships.create(customer=buyer, from_date=date(2026, 5, 1))
    before = row_counts()

    content = signed_in(ilse).get(address(kittiwake)).content.decode()

    for piece in (
        f'Boat of <a href="/customers/{buyer.pk}/">Bo Holm</a>',
        "until 1 May 2026",
        f'href="/customers/engine/{engine.pk}/">Petrel Marine P60</a>',
        f'href="/work-orders/{order.pk}/">{order.number}</a>',
        f'href="/arrivals/new/?vessel={kittiwake.pk}"',
    ):
        assert content.count(piece) == 1, piece
    assert row_counts() == before


def test_vessel_edit_saves_with_an_odd_hull_number(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    client = signed_in(ilse)

    response = client.post(address(kittiwake), TYPED | {"hull_number": "ABC1234", "length_m": "5.25"} | key())
    page = client.get(response.headers["Location"])

    kittiwake.refresh_from_db()
    assert (response.status_code, response.headers["Location"]) == (302, address(kittiwake))
    assert (kittiwake.kept_on, kittiwake.hull_number, kittiwake.length_cm) == ("berth 12", "ABC1234", 525)
    content = page.content.decode()
    assert (content.count(REMARK), content.count('value="5.25"')) == (1, 1)


def test_vessel_answers_htmx_with_the_hull_remark(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel
) -> None:
    response = signed_in(ilse).get(
        address(kittiwake), {"hull_number": "ABC1234"}, headers={"hx-request": "true"}
    )

    content = response.content.decode()
    assert (content.startswith('<div id="hull-remark">'), content.count(REMARK)) == (True, 1)


def test_vessel_edit_without_a_place_is_refused(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    response = signed_in(ilse).post(address(kittiwake), TYPED | {"kept_on": " ", "name": "Dipper"} | key())

    content = response.content.decode()
    assert response.status_code == 422
    assert ("What is it on? is missing." in content, 'value="Dipper"' in content) == (True, True)
    assert Vessel.objects.get().name == "Kittiwake"


def test_vessel_edit_sent_twice_counts_once(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    client, sent = signed_in(ilse), TYPED | key()

    answers = [client.post(address(kittiwake), sent).status_code for _ in range(2)]

    assert (answers, Vessel.objects.get().version, Activity.objects.count()) == ([302, 302], 2, 1)


def test_second_desk_sees_both_boats_t22(
    ilse: Person, maren: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    signed_in(maren).post(address(kittiwake), TYPED | {"length_m": "5.2"} | key())
    second = signed_in(ilse)
    typed = TYPED | {"kept_on": "the <yard>", "length_m": "6"}

    lost = second.post(address(kittiwake), typed | key())
    kept = second.post(address(kittiwake), typed | {"version": "2"} | key())

    content = lost.content.decode()
    assert lost.status_code == 409
    for piece in ("Maren Falk", "berth 12", "the &lt;yard&gt;", ">5.2<", ">6<", 'name="version" value="2"'):
        assert piece in content, piece
    assert (kept.status_code, Vessel.objects.get().length_cm) == (302, 600)


def test_forged_fields_of_a_boat_are_ignored_t02(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    owner = kittiwake.ownerships.get().customer_id
    forged = {"id": "99", "owner": "99", "customer": "99", "length_cm": "1"}

    signed_in(ilse).post(address(kittiwake), TYPED | forged | key())

    row = Vessel.objects.get()
    assert (row.pk, row.length_cm, row.ownerships.get().customer_id) == (kittiwake.pk, None, owner)


@pytest.mark.parametrize("size", [1, 100])
def test_vessel_takes_seven_queries(
    ilse: Person,
    signed_in: SignedIn,
    kittiwake: Vessel,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client = signed_in(ilse)
    for _ in range(size):
        EngineFactory(vessel=kittiwake)
        WorkOrderFactory(vessel=kittiwake)

    with django_assert_num_queries(7):
        response = client.get(address(kittiwake))

    assert response.content.decode().count('class="chip stage-here"') == min(size, 10)


def test_technician_gets_403_and_stranger_404(
    ilse: Person, tobiah: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    refused = [signed_in(tobiah).post(f"/customers/vessel/{pk}/", TYPED | key()) for pk in (kittiwake.pk, 0)]
    missing = signed_in(ilse).get("/customers/vessel/0/")

    assert [answer.status_code for answer in [*refused, missing]] == [403, 403, 404]


def test_vessel_from_another_origin_is_refused_t14(ilse: Person, kittiwake: Vessel, key: Key) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(ilse)

    response = client.post(address(kittiwake), TYPED | key(), headers={"origin": "https://evil.example"})

    assert (response.status_code, Vessel.objects.get().version) == (403, 1)


def test_two_hundred_bad_values_are_answered(
    ilse: Person, signed_in: SignedIn, kittiwake: Vessel, key: Key
) -> None:
    def good() -> dict[str, str]:
        return TYPED | {"version": str(Vessel.objects.get().version)} | key()

    fields = ("name", "kept_on", "make", "model", "length_m", "hull_number", "registration")
    found = troubles_with_bad_values(signed_in(ilse), address(kittiwake), good=good, fields=fields)

    assert found == []


def test_vessel_form_survives_every_bad_value() -> None:
    for name in VesselForm.base_fields:
        for value in tried_values():
            form = VesselForm(TYPED | {name: value}, locale="en_CA")

            assert (form.is_valid() and form.as_input()) or form.errors


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, name: str) -> None:
    row = VesselFactory(name=name, kept_on=name, hull_number=name[:40], owner=CustomerFactory(name=name))
    EngineFactory(vessel=row, make=name, serial=name)
    WorkOrderFactory(vessel=row, complaint=name)

    content = signed_in(ilse).get(address(row)).content.decode()

    assert (name in content, escape(name) in content) == (False, True)

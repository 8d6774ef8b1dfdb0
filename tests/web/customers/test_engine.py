"""An engine is put right at the desk, and its hours are written down."""

from collections.abc import Callable
from datetime import UTC, datetime
from html import escape

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Activity, Bulletin, Engine, EngineFamily, HourReading, Job, Person
from shopapp.web.customers.forms import EngineForm
from tests.factories import CustomerFactory, EngineFactory, JobFactory, VesselFactory
from tests.factories.jobs import lay_up
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import NASTY_NAMES, row_counts, troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {
    "version": "1",
    "make": "Petrel Marine",
    "model": "P60",
    "serial": "PM60-00042",
    "serial_state": "read",
    "position": "single",
}


@pytest.fixture
def p60(shop: object) -> Engine:
    vessel = VesselFactory(name="Kittiwake", owner=CustomerFactory(name="Anna Berg"))
    return EngineFactory(serial="PM60-00042", vessel=vessel)


def address(row: Engine) -> str:
    return f"/customers/engine/{row.pk}/"


def test_engine_page_shows_boat_owner_and_hours(ilse: Person, signed_in: SignedIn, p60: Engine) -> None:
    p60.hour_readings.create(tenths=4125, source="meter", read_at=datetime(2026, 6, 2, 17, 0, tzinfo=UTC))
    before = row_counts()

    content = signed_in(ilse).get(address(p60)).content.decode()

    for piece in (">Kittiwake</a>", ">Anna Berg</a>", "412.5 h", "<td>hour meter</td>", "2 Jun 2026, 10:00"):
        assert content.count(piece) == 1, piece
    assert row_counts() == before


def test_engine_edit_saves_with_a_reading(ilse: Person, signed_in: SignedIn, p60: Engine, key: Key) -> None:
    change = {
        "model": "P90",
        "position": "port",
        "year": "2019",
        "power": "9.9",
        "hours": "1,412.5",
        "hours_source": "meter",
    }

    response = signed_in(ilse).post(address(p60), TYPED | change | key())

    p60.refresh_from_db()
    reading = HourReading.objects.get()
    assert (response.status_code, response.headers["Location"]) == (302, address(p60))
    assert (p60.model, p60.year, p60.version, p60.mountings.get().position) == ("P90", 2019, 2, "port")
    assert p60.power_tenths_hp == 99
    assert (reading.tenths, reading.source) == (14125, "meter")


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"serial": ""}, "Write the serial, or say that the plate was not read."),
        ({"hours": "412.5"}, "Say where the hours come from."),
        ({"hours": "many", "hours_source": "meter"}, "&quot;many&quot; is not accepted."),
        ({"hours": "-1", "hours_source": "meter"}, "&quot;-1&quot; is not accepted."),
        ({"year": "1850"}, "&quot;1850&quot; is not accepted."),
        ({"serial_state": "guessed"}, "guessed is not one of the available choices."),
        ({"position": ""}, "Place on the transom is missing."),
    ],
)
def test_odd_engine_says_why_and_keeps_the_rest(
    ilse: Person, signed_in: SignedIn, p60: Engine, key: Key, change: dict[str, str], sentence: str
) -> None:
    response = signed_in(ilse).post(address(p60), TYPED | {"model": "Kept as typed"} | change | key())

    content = response.content.decode()
    assert response.status_code == 422
    assert (sentence in content, "Kept as typed" in content) == (True, True)
    assert (Engine.objects.get().version, HourReading.objects.count()) == (1, 0)


def test_reading_sent_twice_counts_once(ilse: Person, signed_in: SignedIn, p60: Engine, key: Key) -> None:
    client, sent = signed_in(ilse), TYPED | {"hours": "412.5", "hours_source": "customer"} | key()

    answers = [client.post(address(p60), sent).status_code for _ in range(2)]

    assert (answers, HourReading.objects.count(), Activity.objects.count()) == ([302, 302], 1, 1)


def test_second_desk_sees_both_engines_t22(
    ilse: Person, maren: Person, signed_in: SignedIn, p60: Engine, key: Key
) -> None:
    signed_in(maren).post(address(p60), TYPED | {"serial": "", "serial_state": "plate_gone"} | key())
    second = signed_in(ilse)
    typed = TYPED | {"serial": "PM60-77777", "hours": "9", "hours_source": "meter"}

    lost = second.post(address(p60), typed | key())
    unread = HourReading.objects.count()
    kept = second.post(address(p60), typed | {"version": "2"} | key())

    content = lost.content.decode()
    assert (lost.status_code, unread) == (409, 0)
    for piece in ("Maren Falk", "plate is gone", "PM60-77777", 'name="version" value="2"', 'value="9"'):
        assert piece in content, piece
    assert (kept.status_code, Engine.objects.get().serial) == (302, "PM60-77777")


def test_forged_fields_of_an_engine_are_ignored_t02(
    ilse: Person, signed_in: SignedIn, p60: Engine, key: Key
) -> None:
    vessel = p60.mountings.get().vessel_id

    signed_in(ilse).post(address(p60), TYPED | {"id": "9", "vessel": "9", "tenths": "9", "cost": "1"} | key())

    assert (Engine.objects.get().pk, p60.mountings.get().vessel_id) == (p60.pk, vessel)
    assert HourReading.objects.count() == 0


@pytest.mark.parametrize("size", [1, 100])
def test_engine_takes_eleven_queries(
    ilse: Person,
    signed_in: SignedIn,
    p60: Engine,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client = signed_in(ilse)
    for tenths in range(size):
        p60.hour_readings.create(tenths=tenths, source="meter", read_at=datetime(2026, 6, 2, tzinfo=UTC))
        JobFactory(engine=p60)
    family = EngineFamily.objects.create(make="Petrel Marine", name="P60")
    Engine.objects.update(family=family)
    Bulletin.objects.bulk_create(
        Bulletin(family=family, number=f"B-{number}", text="Look at it.", page="1") for number in range(size)
    )

    if size > 1:
        lay_up(Job.objects.latest("pk"), ilse, at=datetime(2026, 6, 2, tzinfo=UTC))

    with django_assert_num_queries(11):
        response = client.get(address(p60))

    assert response.content.decode().count('class="row-link"') == min(size, 50)

    assert response.content.decode().count("<td>hour meter</td>") == min(size, 20)


def test_family_is_picked_by_a_person_and_shown_with_its_bulletins(
    ilse: Person, signed_in: SignedIn, p60: Engine, key: Key
) -> None:
    family = EngineFamily.objects.create(make="Petrel Marine", name="P60")
    Bulletin.objects.create(family=family, number="B-17", text="Replace the thermostat.", page="B-17")
    client = signed_in(ilse)
    assert "not picked yet" in client.get(address(p60)).content.decode()

    saved = client.post(address(p60), TYPED | {"family": str(family.pk)} | key())
    refused = client.post(address(p60), TYPED | {"version": "2", "family": "999999"} | key())

    assert (saved.status_code, refused.status_code, Engine.objects.get().family_id) == (302, 422, family.pk)
    content = client.get(address(p60)).content.decode()
    assert (f"/spec-book/{family.pk}/" in content, "Replace the thermostat." in content) == (True, True)


def test_technician_gets_403_and_stranger_404(
    ilse: Person, tobiah: Person, signed_in: SignedIn, p60: Engine, key: Key
) -> None:
    refused = [signed_in(tobiah).post(f"/customers/engine/{pk}/", TYPED | key()) for pk in (p60.pk, 0)]
    missing = signed_in(ilse).get("/customers/engine/0/")

    assert [answer.status_code for answer in [*refused, missing]] == [403, 403, 404]


def test_engine_from_another_origin_is_refused_t14(ilse: Person, p60: Engine, key: Key) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(ilse)

    response = client.post(
        address(p60), TYPED | {"model": "P90"} | key(), headers={"origin": "https://evil.example"}
    )

    assert (response.status_code, Engine.objects.get().version) == (403, 1)


def test_two_hundred_bad_values_are_answered(
    ilse: Person, signed_in: SignedIn, p60: Engine, key: Key
) -> None:
    def good() -> dict[str, str]:
        return TYPED | {"version": str(Engine.objects.get().version), "hours_source": "meter"} | key()

    choices = ("serial_state", "position", "hours_source")
    fields = ("make", "model", "serial", "year", "power", "hours", *choices)
    found = troubles_with_bad_values(signed_in(ilse), address(p60), good=good, fields=fields, hidden=choices)

    assert found == []


def test_engine_form_survives_every_bad_value() -> None:
    for name in EngineForm.base_fields:
        for value in tried_values():
            form = EngineForm(TYPED | {name: value}, locale="en_CA")

            assert (form.is_valid() and form.as_input()) or form.errors


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, name: str) -> None:
    vessel = VesselFactory(name=name, owner=CustomerFactory(name=name))
    row = EngineFactory(make=name, model=name, serial=name, vessel=vessel)

    content = signed_in(ilse).get(address(row)).content.decode()

    assert (name in content, escape(name) in content) == (False, True)

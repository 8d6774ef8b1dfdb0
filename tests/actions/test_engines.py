"""Engines are edited at the desk; their hours are written down."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.engines import EngineEdit, EngineInput, HoursInput, add_engine, edit_engine, read_hours
from shopapp.actions.refusals import NotAllowed, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Engine, EngineMounting, HourReading, Person, SerialState
from shopapp.queries.find import matching_ids
from tests.factories import EngineFactory, VesselFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

P60 = EngineInput(make="Petrel Marine", model="P60", serial="PM60-00001", serial_state=SerialState.READ)
EDIT = EngineEdit(engine=P60, position="single")


def p60() -> Engine:
    return EngineFactory(serial="PM60-00001", vessel=VesselFactory())


def test_add_engine_may_be_all_unknown() -> None:
    vessel = VesselFactory()

    row, entry = add_engine(EngineInput(), vessel=vessel, position="port", day=date(2026, 6, 2))

    mounting = EngineMounting.objects.get()
    assert (row.make, row.serial, row.serial_state) == ("", "", "not_looked")
    assert (mounting.engine, mounting.vessel, mounting.position, mounting.until_date) == (
        row,
        vessel,
        "port",
        None,
    )
    assert entry.facts == {"boat": vessel.pk, "serial": ""}


@pytest.mark.parametrize(
    ("engine", "position", "field"),
    [
        (EngineInput(serial_state="read"), "single", "serial"),
        (EngineInput(serial_state="read", serial=" "), "single", "serial"),
        (EngineInput(serial_state="guessed"), "single", "serial_state"),
        (EngineInput(), "keel", "position"),
    ],
)
def test_odd_engine_is_refused_and_unwritten(
    ilse: Person, by: By, engine: EngineInput, position: str, field: str
) -> None:
    row = p60()

    with pytest.raises(BadInput) as adding:
        add_engine(engine, vessel=VesselFactory(), position=position, day=date(2026, 6, 2))
    with pytest.raises(BadInput) as editing:
        edit_engine(row.pk, EngineEdit(engine=engine, position=position), version=1, by=by(ilse))

    assert (adding.value.field, editing.value.field) == (field, field)
    assert Engine.objects.get(pk=row.pk).version == 1


@pytest.mark.parametrize(
    ("hours", "field"),
    [
        (HoursInput(tenths=-1, source="meter"), "hours"),
        (HoursInput(tenths=10, source="moon"), "hours_source"),
    ],
)
def test_odd_hours_are_refused(ilse: Person, by: By, hours: HoursInput, field: str) -> None:
    row = p60()

    with pytest.raises(BadInput) as refusal:
        read_hours(row, hours, by=by(ilse))

    assert (refusal.value.field, HourReading.objects.count()) == (field, 0)


def test_edit_engine_saves_engine_and_position(ilse: Person, by: By) -> None:
    row = p60()
    edit = EngineEdit(engine=replace(P60, serial="PM60-99999", year=2019), position="starboard")

    saved = edit_engine(row.pk, edit, version=1, by=by(ilse))

    assert (saved.serial, saved.year, saved.version) == ("PM60-99999", 2019, 2)
    assert saved.mountings.get().position == "starboard"
    assert json.loads(Activity.objects.get().payload) == {
        "serial": "PM60-00001 → PM60-99999",
        "year": "– → 2019",
        "position": "single → starboard",
    }
    assert matching_ids("pm60 99999", kinds=["engine"]) == [("engine", row.pk)]


def test_reading_alone_is_no_edit(ilse: Person, by: By) -> None:
    row = p60()

    saved = edit_engine(
        row.pk, replace(EDIT, hours=HoursInput(tenths=4125, source="meter")), version=1, by=by(ilse)
    )

    reading = HourReading.objects.get()
    assert (reading.tenths, reading.source, reading.read_at) == (4125, "meter", by(ilse).at)
    assert (saved.version, Activity.objects.get().verb) == (1, "read hours")


def test_stale_edit_writes_no_reading_t22(ilse: Person, by: By) -> None:
    row = p60()
    edit_engine(
        row.pk, EngineEdit(engine=replace(P60, model="P90"), position="single"), version=1, by=by(ilse)
    )

    with pytest.raises(Stale):
        edit_engine(row.pk, replace(EDIT, hours=HoursInput(tenths=1, source="meter")), version=1, by=by(ilse))

    assert (Engine.objects.get().model, HourReading.objects.count()) == ("P90", 0)


def test_edit_engine_off_any_boat_works(ilse: Person, by: By) -> None:
    row = EngineFactory(serial="PM60-00001")

    saved = edit_engine(
        row.pk, EngineEdit(engine=replace(P60, model="P90"), position="port"), version=1, by=by(ilse)
    )

    assert (saved.model, saved.mountings.count()) == ("P90", 0)


def test_technician_may_not_edit_engine(tobiah: Person, by: By) -> None:
    row = p60()

    with pytest.raises(NotAllowed):
        edit_engine(row.pk, replace(EDIT, engine=replace(P60, model="P90")), version=1, by=by(tobiah))

    assert Engine.objects.get().model == "P60"

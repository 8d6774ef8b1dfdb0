"""Engines: hung on a boat when they first arrive, edited at the desk, their hours written down over time."""

from dataclasses import asdict, dataclass
from datetime import date

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, search_texts, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.changes import changed, told
from shopapp.actions.locks import locked
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Engine,
    EngineFamily,
    EngineMounting,
    EnginePosition,
    HourReading,
    HoursSource,
    SerialState,
    Vessel,
)


@dataclass(frozen=True, kw_only=True)
class EngineInput:
    """An outboard, of which everything may be unknown; only a serial that was read must be written."""

    make: str = ""
    model: str = ""
    serial: str = ""
    serial_state: str = SerialState.NOT_LOOKED
    year: int | None = None
    power_tenths_hp: int | None = None
    family_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class HoursInput:
    """Running hours in tenths, and where they come from (a value of HoursSource)."""

    tenths: int
    source: str


@dataclass(frozen=True, kw_only=True)
class EngineEdit:
    """What the engine page sends: the engine, its place on the transom, perhaps a new hour reading."""

    engine: EngineInput
    position: str
    hours: HoursInput | None = None


def add_engine(
    data: EngineInput, *, vessel: Vessel, position: str = EnginePosition.SINGLE, day: date
) -> tuple[Engine, Entry]:
    """Write a new engine and hang it on a boat from that day on, inside the caller's transaction.

    The caller has asked for the right, indexes the row and records the entry last. Raises BadInput.
    """
    _check(data)
    row = Engine.objects.create(**asdict(data))
    EngineMounting.objects.create(engine=row, vessel=vessel, position=_position(position), from_date=day)
    return row, Entry(verb="add engine", record=row, facts={"boat": vessel.pk, "serial": row.serial})


def read_hours(engine: Engine, data: HoursInput, *, by: Actor) -> Entry:
    """Write down an hour reading inside the caller's transaction; fewer hours than before are kept as told.

    Raises BadInput for less than nothing or a source that is not known.
    """
    if data.tenths < 0:
        raise BadInput("hours", data.tenths, _("hours from 0 on"))
    if data.source not in HoursSource.values:
        raise BadInput("hours_source", data.source, _("where the hours come from"))
    HourReading.objects.create(engine=engine, tenths=data.tenths, source=data.source, read_at=by.at)
    return Entry(verb="read hours", record=engine, facts={"tenths": data.tenths, "source": data.source})


@transaction.atomic
def edit_engine(pk: int, data: EngineEdit, *, version: int, by: Actor) -> Engine:
    """Save what the desk changed of an engine, and a new hour reading if there is one.

    Locks the engine, then the chain head. A second sender with the same version gets Stale and writes
    nothing (neither does its reading); a reading alone does not count as an edit. If the power fails before
    the commit nothing has changed. Raises BadInput for a serial that is said to be read but is not written.
    """
    row = locked(Engine.objects.filter(pk=pk)).get()
    desk_person(by)
    _check(data.engine)
    entries = [*_edited(row, data, version=version)]
    if data.hours is not None:
        entries.append(read_hours(row, data.hours, by=by))
    if entries:
        activity.record(entries, by=by)
    return Engine.objects.get(pk=pk)


def _edited(row: Engine, data: EngineEdit, *, version: int) -> list[Entry]:
    changes = changed(row, asdict(data.engine))
    mounting = row.mountings.filter(until_date=None).first()
    moves = changed(mounting, {"position": _position(data.position)}) if mounting is not None else {}
    if not changes and not moves:
        return []
    facts = told(row, changes) | (told(mounting, moves) if mounting is not None else {})
    saved = versions.save_edit(row, version=version, changes=changes)
    if mounting is not None and moves:
        mounting.position = data.position
        mounting.save(update_fields=["position"])
    search_texts.index(saved)
    return [Entry(verb="edit engine", record=saved, facts=facts)]


def _position(position: str) -> str:
    if position not in EnginePosition.values:
        raise BadInput("position", position, _("single, port, centre or starboard"))
    return position


def _check(data: EngineInput) -> None:
    if data.serial_state not in SerialState.values:
        raise BadInput("serial_state", data.serial_state, _("what is known of the plate"))
    if data.family_id is not None and not EngineFamily.objects.filter(pk=data.family_id).exists():
        raise BadInput("family", data.family_id, _("a family of the spec book"))
    if data.serial_state == SerialState.READ and not data.serial.strip():
        raise BadInput("serial", data.serial, _("the serial as it was read off the plate"))

"""The used-oil log: containers are begun and put away, something goes in, a collector takes it.

A container takes one kind of waste. Its level is the sum of its standing rows and is stored nowhere, so rows
may come in any order; more than it holds is accepted and said. Cautions: ``calc.waste`` names their sources.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.bounds import require_within
from shopapp.actions.jobs import person_of
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.striking import strike
from shopapp.calc.errors import BadInput
from shopapp.calc.fluids import Seen, kind_of
from shopapp.calc.waste import Waste, belongs_into
from shopapp.models import (
    FluidCondition,
    FluidEntry,
    Person,
    WasteContainer,
    WasteHandOver,
    WasteKind,
    WastePour,
)

MOST_SIZE_ML = 20_000_000
MOST_VOLUME_ML = 20_000_000


@dataclass(frozen=True, kw_only=True)
class ContainerInput:
    """What stands on its label, what goes in, and how much it holds."""

    name: str
    kind: WasteKind
    size_ml: int


@dataclass(frozen=True, kw_only=True)
class PutInInput:
    """What somebody poured in that no fluid entry tells of."""

    volume_ml: int
    kind: WasteKind
    what: str


@dataclass(frozen=True, kw_only=True)
class HandOverInput:
    """What a collector took, when, and the number of the paper."""

    volume_ml: int
    collector: str
    taken_at: datetime
    paper_number: str = ""


@transaction.atomic
def begin_container(data: ContainerInput, *, by: Actor) -> WasteContainer:
    """Take a container into use.

    Locks nothing but, last, the chain head; a second sender is held off by the key of the form, and a name
    that stands on a container in use is refused as BadInput by the database itself. If the power fails, all
    of it or nothing.
    """
    person, name = desk_person(by), " ".join(data.name.split())[:60]
    if not name:
        raise BadInput("name", data.name, _("what stands on its label"))
    require_within("size", data.size_ml, least=1, most=MOST_SIZE_ML)
    row = WasteContainer(
        name=name, kind=data.kind, size_ml=data.size_ml, begun_at=by.at, begun_by_id=person.pk
    )
    _save(row)
    return _told(row, verb="begin container", facts={"what": name, "kind": row.kind}, by=by)


@transaction.atomic
def end_container(pk: int, *, by: Actor) -> WasteContainer:
    """Put a container away; what tablets poured in before they knew of it still counts.

    Locks the container, last the chain head. A second sender changes nothing. If the power fails, all of it
    or nothing.
    """
    person, row = desk_person(by), _locked(pk)
    if row.ended_at is not None:
        return row
    row.ended_at, row.ended_by_id = by.at, person.pk
    row.save(update_fields=["ended_at", "ended_by"])
    return _told(row, verb="end container", facts={"what": row.name}, by=by)


@transaction.atomic
def reopen_container(pk: int, *, by: Actor) -> WasteContainer:
    """Take a container that was put away into use again.

    Locks, second sender and power cut as ``end_container``. Raises BadInput once another one bears its name.
    """
    desk_person(by)
    row = _locked(pk)
    if row.ended_at is None:
        return row
    row.ended_at = row.ended_by = None
    _save(row)
    return _told(row, verb="reopen container", facts={"what": row.name}, by=by)


@transaction.atomic
def put_in(pk: int, data: PutInInput, *, by: Actor) -> WastePour:
    """Log by hand what went into a container, such as the drip tray.

    Locks the container (so that it is not put away meanwhile), last the chain head. The key of the form keeps
    a second sender from a second row. If the power fails, all of it or nothing. Raises BadInput for another
    kind of waste than the container is for.
    """
    person, row = person_of(by), _in_use(pk)
    if not access.may_log_work(person):
        raise NotAllowed(_("Only people of the shop may do this."))
    require_within("volume", data.volume_ml, least=1, most=MOST_VOLUME_ML)
    what = " ".join(data.what.split())[:120]
    if not what:
        raise BadInput("what", data.what, _("what it was, or where it came from"))
    _require_kind(row, Waste(data.kind), field="kind")
    _require_kind(
        row, belongs_into(kind_of(point="", product=what), seen=Seen.NOT_DRAINED), field="what", said=what
    )
    pour = WastePour.objects.create(container=row, what=what, volume_ml=data.volume_ml, **_logged(by))
    facts: Payload = {"what": row.name, "volume_ml": pour.volume_ml}
    return _told(pour, verb="put in container", facts=facts, by=by)


def pour_drained(entry: FluidEntry, container_pk: int, *, by: Actor) -> WastePour:
    """What a fluid entry drained goes into this container, and counts as long as the entry stands.

    For ``log_fluid``, inside its transaction: locks the container, and leaves it to the caller to tell the
    chain. Raises BadInput where the container is not for that fluid, or is not in use any more; what a tablet
    poured before it knew of that is taken.
    """
    row = locked(WasteContainer.objects.filter(pk=container_pk)).first()
    if row is None or (row.ended_at is not None and by.received_at is None):
        raise BadInput("container", row.name if row is not None else "", _("a container that is in use"))
    if entry.drained_ml <= 0:
        raise BadInput("drained", entry.drained_ml, _("what was drained, since it went into a container"))
    kind = kind_of(point=entry.point, product=entry.product)
    _require_kind(row, belongs_into(kind, seen=Seen(entry.condition)), field="container")
    return WastePour.objects.create(
        container=row,
        fluid_entry=entry,
        condition=FluidCondition(entry.condition),
        volume_ml=entry.drained_ml,
        **_logged(by),
    )


@transaction.atomic
def hand_over(pk: int, data: HandOverInput, *, by: Actor) -> WasteHandOver:
    """Log what a collector took away; more than is in it by the book is accepted and said.

    Locks the container, last the chain head. The key of the form keeps a second sender from a second row. If
    the power fails, all of it or nothing.
    """
    desk_person(by)
    row, collector = _locked(pk), " ".join(data.collector.split())[:120]
    require_within("volume", data.volume_ml, least=1, most=MOST_VOLUME_ML)
    if not collector:
        raise BadInput("collector", data.collector, _("who took it away"))
    if data.taken_at > by.at:
        raise BadInput("taken_at", data.taken_at, _("a time that has passed"))
    taken = WasteHandOver.objects.create(
        container=row,
        collector=collector,
        paper_number=data.paper_number.strip()[:60],
        volume_ml=data.volume_ml,
        **_logged(by) | {"happened_at": data.taken_at},
    )
    facts: Payload = {"what": row.name, "volume_ml": taken.volume_ml, "collector": collector}
    return _told(taken, verb="hand over waste", facts=facts, by=by)


@transaction.atomic
def strike_pour(pk: int, *, reason: str, by: Actor) -> WastePour:
    """Strike out what did not go in; it stays readable. People strike their own, the desk anybody's.

    A fluid entry that told of it stays as it is. Locks the row, last the chain head. A second sender gets the
    struck row and leaves no second trace. If the power fails, all of it or nothing.
    """
    row, person = locked(WastePour.objects.filter(pk=pk)).get(), person_of(by)
    if row.struck_at is not None:
        return row
    if row.logged_by_id != person.pk and not access.may_use_desk(person):
        raise NotAllowed(_("You can strike out what you logged yourself. Ask the desk for other rows."))
    return _struck(row, person, reason=reason, by=by)


@transaction.atomic
def strike_hand_over(pk: int, *, reason: str, by: Actor) -> WasteHandOver:
    """Strike out a hand-over that was not so; for the desk.

    Locks, second sender and power cut as ``strike_pour``.
    """
    person = desk_person(by)
    row = locked(WasteHandOver.objects.filter(pk=pk)).get()
    return row if row.struck_at is not None else _struck(row, person, reason=reason, by=by)


def _struck[Row: (WastePour, WasteHandOver)](row: Row, person: Person, *, reason: str, by: Actor) -> Row:
    said = strike(row, person, reason=reason, by=by)
    return _told(row, verb="strike waste", facts={"what": row.container.name, "why": said}, by=by)


def _require_kind(row: WasteContainer, wanted: Waste | None, *, field: str, said: str = "") -> None:
    """One kind in a container, and never fuel or solvent in used oil. Raises BadInput with the caution."""
    holds = Waste(row.kind)
    if holds == wanted or (wanted is None and holds != Waste.SOLVENT):
        return
    if wanted is None:
        raise BadInput(field, said or row.name, _("a container that is not for solvent"))
    shown = said or (row.name if field == "container" else WasteKind(wanted).label)
    raise BadInput(field, shown, _accepted(holds, wanted))


def _accepted(holds: Waste, wanted: Waste) -> str:
    facts = {"kind": WasteKind(wanted).label}
    if holds == Waste.USED_OIL and wanted in (Waste.OILY_FUEL, Waste.SOLVENT):
        return (
            _(
                "a container for %(kind)s: fuel or solvent in used oil can burn, and the collector"
                " can't take the mix"
            )
            % facts
        )
    return _("a container for %(kind)s: kinds are kept apart so that the collector can take them") % facts


def _locked(pk: int) -> WasteContainer:
    return locked(WasteContainer.objects.filter(pk=pk)).get()


def _in_use(pk: int) -> WasteContainer:
    row = _locked(pk)
    if row.ended_at is not None:
        raise Refused(_("This container was put away. Pour into one that is in use."))
    return row


def _save(row: WasteContainer) -> None:
    """Save it; BadInput where its name stands on another container in use."""
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise BadInput("name", row.name, _("a name that no other container in use has")) from error


def _logged(by: Actor) -> dict[str, Any]:
    return {"logged_by": person_of(by), "happened_at": by.at, "recorded_at": by.recorded_at}


def _told[Row: (WasteContainer, WastePour, WasteHandOver)](
    row: Row, *, verb: str, facts: Payload, by: Actor
) -> Row:
    activity.record([Entry(verb=verb, record=row, facts=facts)], by=by)
    return row

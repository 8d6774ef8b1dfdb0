"""Custody: boat, trailer, keys and gear come in, go out and are moved, each with who and when."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.models import CLOSED_STAGES, CustodyEntry, CustodyMove, Stage, Thing, WorkOrder
from shopapp.queries.custody import things_here

TAKEN_IN, LET_OUT, MOVED = "take in", "let out", "move thing"
_VERBS = {CustodyMove.IN.value: TAKEN_IN, CustodyMove.OUT.value: LET_OUT, CustodyMove.MOVED.value: MOVED}


@dataclass(frozen=True, kw_only=True)
class CustodyInput:
    """One thing and which way it goes. ``who`` brings or takes it; ``place`` is where it stands then."""

    thing: str
    move: str
    who: str = ""
    place: str = ""
    note: str = ""


@transaction.atomic
def record_custody(work_order_pk: int, data: CustodyInput, *, by: Actor) -> CustodyEntry:
    """Write down that a thing came in, went out or was moved; the work order says where the boat is now.

    What is out can't go out again and what is here can't come in again, so of two senders the second is
    refused; a wrong entry is put right by another one. Locks the work order, last the chain head. If the
    power fails, the entry is there with the place of the boat, or nothing is. Raises BadInput, Refused.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    _check(data)
    _require_possible(work_order, data)
    entry = _write(work_order, data, by=by)
    activity.record([_told(work_order, data)], by=by)
    return entry


def take_in(work_order: WorkOrder, things: Sequence[CustodyInput], *, by: Actor) -> list[Entry]:
    """What came with a boat that was just written down, inside the caller's transaction and lock.

    The caller has asked for the right and records the entries last.
    """
    for data in things:
        _write(work_order, data, by=by)
    return [_told(work_order, data) for data in things]


def let_go(work_order: WorkOrder, *, who: str, by: Actor) -> list[Entry]:
    """Everything that is still here goes home with ``who``, inside the caller's transaction and lock.

    The caller has asked for the right and records the entries last. Nothing here: nothing is written.
    """
    here = things_here(work_order)
    leaving = [
        CustodyInput(thing=thing.value, move=CustodyMove.OUT.value, who=who)
        for thing in Thing
        if thing in here
    ]
    for data in leaving:
        _write(work_order, data, by=by)
    return [_told(work_order, data) for data in leaving]


def _check(data: CustodyInput) -> None:
    if data.thing not in Thing.values:
        raise BadInput("thing", data.thing, _("boat, trailer, keys or loose gear"))
    if data.move not in CustodyMove.values:
        raise BadInput("move", data.move, _("came in, went out or was moved"))
    if data.move == CustodyMove.OUT and not data.who.strip():
        raise BadInput("who", data.who, _("the name of whoever takes it"))
    if data.move == CustodyMove.MOVED and not data.place.strip():
        raise BadInput("place", data.place, _("where it is now"))


def _require_possible(work_order: WorkOrder, data: CustodyInput) -> None:
    is_here = data.thing in things_here(work_order)
    named = {"thing": Thing(data.thing).label}
    if data.move == CustodyMove.IN and is_here:
        raise Refused(_("%(thing)s: it is here already, so it can't come in.") % named)
    if data.move != CustodyMove.IN and not is_here:
        raise Refused(_("%(thing)s: it is not here, so it can't go out or be moved.") % named)
    if data.thing == Thing.BOAT:
        _require_boat_may(work_order, data)


def _require_boat_may(work_order: WorkOrder, data: CustodyInput) -> None:
    if data.move == CustodyMove.IN and work_order.stage in CLOSED_STAGES:
        raise Refused(_("This visit is over. Take the boat in as a new arrival."))
    if data.move == CustodyMove.OUT and work_order.stage == Stage.READY:
        # the way home asks for the bill; a boat that is ready does not slip out beside it
        raise Refused(_("Every job is ready. Hand the boat back on the work order, so that the visit ends."))


def _write(work_order: WorkOrder, data: CustodyInput, *, by: Actor) -> CustodyEntry:
    if data.thing == Thing.BOAT:
        work_order.is_boat_here = data.move != CustodyMove.OUT
        work_order.place = data.place.strip()
        work_order.save(update_fields=["is_boat_here", "place"])
    return CustodyEntry.objects.create(
        work_order=work_order,
        thing=data.thing,
        move=data.move,
        who=data.who.strip(),
        place=data.place.strip(),
        note=data.note.strip(),
        happened_at=by.at,
        recorded_at=by.at,
        recorded_by=desk_person(by),
    )


def _told(work_order: WorkOrder, data: CustodyInput) -> Entry:
    facts: Payload = {"thing": data.thing, "who": data.who.strip(), "place": data.place.strip()}
    return Entry(verb=_VERBS[data.move], record=work_order, facts=facts, work_order=work_order)

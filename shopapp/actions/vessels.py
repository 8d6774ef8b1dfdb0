"""Boats: written down when they first arrive, edited at the desk, handed from owner to owner."""

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
from shopapp.models import Customer, Vessel, VesselOwnership


@dataclass(frozen=True, kw_only=True)
class VesselInput:
    """A boat; only what it is on is needed. A hull number is kept as typed, right or wrong."""

    kept_on: str
    name: str = ""
    make: str = ""
    model: str = ""
    length_cm: int | None = None
    hull_number: str = ""
    registration: str = ""


def add_vessel(data: VesselInput, *, owner: Customer, day: date) -> tuple[Vessel, Entry]:
    """Write a new boat and its owner from that day on, inside the caller's transaction.

    The caller has asked for the right, indexes the row and records the entry last. Raises BadInput.
    """
    _check(data)
    row = Vessel.objects.create(**asdict(data))
    VesselOwnership.objects.create(vessel=row, customer=owner, from_date=day)
    return row, Entry(verb="add boat", record=row, facts={"name": row.name, "owner": owner.pk})


def hand_to(vessel: Vessel, *, owner: Customer, day: date) -> list[Entry]:
    """Make somebody the owner of a (locked) boat from that day on; nothing to tell if they are already.

    The days are half-open: the owner before it had it until the day before. The caller records the entry.
    """
    current = vessel.ownerships.filter(until_date=None).first()
    if current is not None and current.customer_id == owner.pk:
        return []
    if current is not None:
        current.until_date = day
        current.save(update_fields=["until_date"])
    VesselOwnership.objects.create(vessel=vessel, customer=owner, from_date=day)
    before = current.customer_id if current is not None else None
    return [Entry(verb="change owner", record=vessel, facts={"from": before, "to": owner.pk})]


@transaction.atomic
def edit_vessel(pk: int, data: VesselInput, *, version: int, by: Actor) -> Vessel:
    """Save what the desk changed of a boat.

    Locks the boat, then the chain head. A second sender with the same version gets Stale and writes nothing;
    an edit that changes nothing leaves no trace. If the power fails before the commit the boat is as before.
    Raises BadInput when it does not say what the boat is on; an odd hull number is never refused.
    """
    row = locked(Vessel.objects.filter(pk=pk)).get()
    desk_person(by)
    _check(data)
    changes = changed(row, asdict(data))
    if not changes:
        return row
    saved = versions.save_edit(row, version=version, changes=changes)
    search_texts.index(saved)
    activity.record([Entry(verb="edit boat", record=saved, facts=told(row, changes))], by=by)
    return saved


def _check(data: VesselInput) -> None:
    if not data.kept_on.strip():
        raise BadInput("kept_on", data.kept_on, _("what the boat is on: a trailer, a berth, a cradle"))

"""The desk hands one work order out to a tablet for the day, and takes it back."""

from dataclasses import dataclass

from django.db import models, transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.models import CLOSED_STAGES, Device, DockCall, Person, Pin, WorkOrder
from shopapp.queries.shop import local_day, the_shop


@dataclass(frozen=True, kw_only=True)
class HandOutInput:
    """To whom, at which tablet."""

    person: int
    device: int


@transaction.atomic
def hand_out_dock_call(work_order_pk: int, data: HandOutInput, *, by: Actor) -> DockCall:
    """Hand a work order out to a technician at a tablet, until the shop's day is over.

    Locks the tablet (as whoever takes its entries does), the work order, last the chain head. One is in force
    at a tablet and of a work order: a second sender is refused. If the power fails, the call is there with
    its record or neither. Raises NotAllowed away from the desk, Refused, BadInput (``device``, ``person``).
    """
    desk = desk_person(by)
    device = locked(Device.objects.filter(pk=data.device, ended_at=None)).first()
    if device is None:
        raise BadInput("device", data.device, _("a tablet that is enrolled"))
    work_order = lock_work_order(work_order_pk)
    person = _technician(data.person)
    day = local_day(the_shop(), by.at)
    if work_order.stage in CLOSED_STAGES:
        raise Refused(_("This visit is closed; there is nothing to hand out."))
    _require_free(DockCall.objects.in_force_on(day).filter(device=device))
    _require_free(DockCall.objects.in_force_on(day).filter(work_order=work_order))
    row = DockCall.objects.create(
        work_order=work_order, device=device, person=person, call_date=day, handed_by=desk, handed_at=by.at
    )
    _record("hand out dock call", row, work_order=work_order, by=by)
    return row


@transaction.atomic
def take_back_dock_call(pk: int, *, by: Actor) -> DockCall:
    """Take a dock call back: the tablet wipes what it kept of it when it next hears of the shop.

    What was signed until then still counts. Locks the tablet, the work order, the call, last the chain head.
    A second sender is refused: it was taken back a moment ago. If the power fails, all of it or nothing.
    Raises NotAllowed away from the desk, Refused.
    """
    desk = desk_person(by)
    device_pk, work_order_pk = DockCall.objects.values_list("device_id", "work_order_id").get(pk=pk)
    locked(Device.objects.filter(pk=device_pk)).get()
    work_order = lock_work_order(work_order_pk)
    row = locked(DockCall.objects.select_related("device", "person"), of=("self",)).get(pk=pk)
    if row.taken_back_at is not None:
        raise Refused(_("This dock call was taken back a moment ago."))
    if row.call_date < local_day(the_shop(), by.at):
        raise Refused(_("This dock call ended with its day; there is nothing to take back."))
    row.taken_back_by, row.taken_back_at = desk, by.at
    row.save(update_fields=["taken_back_by", "taken_back_at"])
    _record("take back dock call", row, work_order=work_order, by=by)
    return row


def _technician(pk: int) -> Person:
    person = Person.objects.filter(pk=pk, is_active=True, is_technician=True).first()
    if person is None:
        raise BadInput("person", pk, _("a technician who works here"))
    if not Pin.objects.filter(person=person).exists():
        raise Refused(_("%s has no PIN yet, and a tablet opens with a PIN only.") % person.name)
    return person


def _require_free(in_force: "models.QuerySet[DockCall]") -> None:
    other = in_force.select_related("device", "work_order").first()
    if other is None:
        return
    told = {"number": other.work_order.number, "tablet": other.device.name}
    raise Refused(_("%(number)s is handed out to %(tablet)s today. Take that one back first.") % told)


def _record(verb: str, row: DockCall, *, work_order: WorkOrder, by: Actor) -> None:
    facts: Payload = {"tablet": row.device.name, "technician": row.person.name}
    activity.record([Entry(verb=verb, record=row, facts=facts, work_order=work_order)], by=by)

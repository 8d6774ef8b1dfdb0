"""Call slips: somebody rang; written down, called back, and brought back when it was ticked off too early."""

from dataclasses import asdict, dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.changes import changed
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import CallSlip, Customer, Person, WorkOrder

MOST_OPEN = 500


@dataclass(frozen=True, kw_only=True)
class CallInput:
    """Who rang and about what; until when they are called back and by whom, and what it belongs to."""

    name: str
    about: str
    phone: str = ""
    call_by_at: datetime | None = None
    for_person: int | None = None
    customer: int | None = None
    work_order: int | None = None


@transaction.atomic
def write_slip(data: CallInput, *, by: Actor) -> CallSlip:
    """Write a call down.

    Locks nothing before the chain head; each send is a call of its own (the request key tells a second send
    of one form). If the power fails before the commit there is no slip. Raises BadInput for a missing name
    or matter, and for a colleague, customer or work order that there is not.
    """
    person = desk_person(by)
    values = _values(data)
    if CallSlip.objects.filter(done_at=None).count() >= MOST_OPEN:
        raise Refused(_("There are %s open call slips. Tick some off first.") % MOST_OPEN)
    slip = CallSlip.objects.create(**values, taken_by=person, taken_at=by.at)
    activity.record([_entry("write call slip", slip)], by=by)
    return slip


@transaction.atomic
def edit_slip(pk: int, data: CallInput, *, version: int, by: Actor) -> CallSlip:
    """Save what was put right on an open slip.

    Locks the slip, then the chain head. A second sender with the same version gets Stale and writes nothing;
    an edit that changes nothing leaves no trace. Refused once the slip is done. Raises BadInput as above.
    """
    slip = _lock_slip(pk, by=by)
    if slip.done_at is not None:
        raise Refused(_("This call was made already. Bring the slip back first."))
    changes = changed(slip, _values(data))
    if not changes:
        return slip
    saved = versions.save_edit(slip, version=version, changes=changes)
    activity.record([_entry("edit call slip", saved)], by=by)
    return saved


@transaction.atomic
def close_slip(pk: int, answer: str, *, by: Actor) -> CallSlip:
    """The call was made, with what came of it.

    Locks the slip, then the chain head. A second sender finds it done and changes nothing.
    """
    slip = _lock_slip(pk, by=by)
    if slip.done_at is not None:
        return slip
    slip.done_at, slip.done_by, slip.answer = by.at, by.person, answer.strip()
    slip.version += 1
    slip.save(update_fields=["done_at", "done_by", "answer", "version"])
    activity.record([_entry("close call slip", slip)], by=by)
    return slip


@transaction.atomic
def reopen_slip(pk: int, *, by: Actor) -> CallSlip:
    """Ticked off too early: the slip is open again, and what was answered stays readable in it.

    Locks the slip, then the chain head. A second sender finds it open and changes nothing.
    """
    slip = _lock_slip(pk, by=by)
    if slip.done_at is None:
        return slip
    slip.done_at = slip.done_by = None
    slip.version += 1
    slip.save(update_fields=["done_at", "done_by", "version"])
    activity.record([_entry("reopen call slip", slip)], by=by)
    return slip


def _lock_slip(pk: int, *, by: Actor) -> CallSlip:
    desk_person(by)
    slip = locked(CallSlip.objects.filter(pk=pk)).first()
    if slip is None:
        raise Refused(_("There is no such call slip."))
    return slip


def _entry(verb: str, slip: CallSlip) -> Entry:
    # what was said stays on the slip: it is a person's own affair, and the chain keeps everything
    return Entry(verb=verb, record=slip, work_order=slip.work_order)


def _values(data: CallInput) -> dict[str, object]:
    if not data.name.strip():
        raise BadInput("name", data.name, _("the name of whoever rang"))
    if not data.about.strip():
        raise BadInput("about", data.about, _("what the call was about"))
    work_order = _known(WorkOrder, "work_order", data.work_order)
    customer = data.customer
    if customer is None and work_order is not None:
        customer = work_order.customer_id
    _known(Customer, "customer", customer)
    _known(Person, "for_person", data.for_person)
    given = asdict(data) | {"customer": customer}
    keys = ("customer", "work_order", "for_person")
    return {f"{name}_id" if name in keys else name: value for name, value in given.items()}


def _known[Row: (WorkOrder, Customer, Person)](model: type[Row], field: str, pk: int | None) -> Row | None:
    if pk is None:
        return None
    row = model._default_manager.filter(pk=pk).first()
    if row is None:
        raise BadInput(field, pk, _("one that is in the shop's books"))
    return row

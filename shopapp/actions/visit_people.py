"""The people on a visit beside the owner: who brought the boat, says yes, pays, collects."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_minor
from shopapp.models import Customer, PartInVisit, VisitPerson, WorkOrder
from shopapp.queries.shop import the_shop


@dataclass(frozen=True, kw_only=True)
class PersonOnVisit:
    """Somebody and their part. Whoever pays is a known customer; an approver may have an upper amount.

    ``up_to`` is without tax, in the shop's currency; ``None``: whatever it costs.
    """

    part: str
    name: str = ""
    phone: str = ""
    customer: int | None = None
    up_to: Decimal | None = None


@transaction.atomic
def edit_people(
    work_order_pk: int, people: Sequence[PersonOnVisit], *, purchase_order: str, by: Actor
) -> None:
    """Say who is on a visit, and their purchase order number; whoever is not named any more is off it.

    Locks the work order, last the chain head. The last sender counts; the same people again leave no trace.
    If the power fails, all of them are changed or none. Raises BadInput at the field of a person.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    before = _facts(work_order)
    VisitPerson.objects.filter(work_order=work_order).exclude(part__in=[one.part for one in people]).delete()
    for one in people:
        _write(work_order, one)
    work_order.purchase_order = purchase_order.strip()
    work_order.save(update_fields=["purchase_order"])
    if _facts(work_order) != before:
        activity.record([_told(work_order)], by=by)


def add_people(work_order: WorkOrder, people: Sequence[PersonOnVisit]) -> list[Entry]:
    """Write the people of a visit that was just opened, inside the caller's transaction.

    The caller has asked for the right and records the entry last. Raises BadInput.
    """
    for one in people:
        _write(work_order, one)
    return [_told(work_order)] if people else []


def _write(work_order: WorkOrder, one: PersonOnVisit) -> None:
    if one.part not in PartInVisit.values:
        raise BadInput("people", one.part, _("brings, says yes, pays or collects"))
    payer = _payer(one)
    name = payer.name if payer is not None else one.name.strip()
    if not name:
        raise BadInput(f"{one.part}_name", one.name, _("a name"))
    VisitPerson.objects.update_or_create(
        work_order=work_order,
        part=one.part,
        defaults={
            "customer": payer,
            "name": name,
            "phone": payer.phone if payer is not None else one.phone.strip(),
            "up_to_minor": _up_to(one),
        },
    )


def _payer(one: PersonOnVisit) -> Customer | None:
    if one.part != PartInVisit.PAYER:
        return None
    row = Customer.objects.filter(pk=one.customer).first() if one.customer is not None else None
    if row is None:
        raise BadInput("payer", one.name or "nobody", _("a customer who is known here"))
    return row


def _up_to(one: PersonOnVisit) -> int | None:
    if one.up_to is None:
        return None
    if one.part != PartInVisit.APPROVER or one.up_to < 0:
        raise BadInput("approver_up_to", one.up_to, _("an amount from 0 on, for whoever says yes"))
    return to_minor(one.up_to, currency=the_shop().currency, field="approver_up_to")


def _facts(work_order: WorkOrder) -> list[tuple[object, ...]]:
    rows = VisitPerson.objects.filter(work_order=work_order).order_by("part")
    people = rows.values_list("part", "customer", "name", "phone", "up_to_minor")
    return [(work_order.purchase_order,), *people]


def _told(work_order: WorkOrder) -> Entry:
    rows = VisitPerson.objects.filter(work_order=work_order).order_by("part")
    facts: Payload = dict(rows.values_list("part", "name")) | {"purchase_order": work_order.purchase_order}
    return Entry(verb="edit people", record=work_order, facts=facts, work_order=work_order)

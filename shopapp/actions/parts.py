"""The shop's list of parts: written and edited at the desk; what they cost is the owner's to say."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, search_texts, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.changes import changed
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.models import Part, PartCondition, Person, TaxCode, Unit
from shopapp.queries.parts import part_by_number


@dataclass(frozen=True, kw_only=True)
class PartInput:
    """A part of the list. Without a price it sells at cost and markup; ``unit_cost`` counts for the owner."""

    number: str
    description: str
    unit: Unit = Unit.EACH
    condition: PartCondition = PartCondition.NEW
    unit_price: Decimal | None = None
    unit_cost: Decimal | None = None
    tax_code: int | None = None
    is_active: bool = True


@transaction.atomic
def add_part(data: PartInput, *, by: Actor) -> Part:
    """Write a new part into the list.

    Locks nothing but the chain head, last; of two who write the same number at once the second is told.
    The key of the form keeps a second sender from a second part. If the power fails, all of it or nothing.
    Raises BadInput for a missing name, or a number that is there already, however it is written.
    """
    person = desk_person(by)
    values = _values(data, person=person)
    _require_new_number(data.number, pk=None)
    try:
        with transaction.atomic():
            row = Part.objects.create(**values)
    except IntegrityError:
        raise _taken(data.number) from None
    search_texts.index(row)
    facts = {"number": row.number, "description": row.description}
    activity.record([Entry(verb="add part", record=row, facts=facts)], by=by)
    return row


@transaction.atomic
def edit_part(pk: int, data: PartInput, *, version: int, by: Actor) -> Part:
    """Save what was changed of a part. Rows that were logged keep what they froze.

    Locks the part, then the chain head. A second sender with the same version gets Stale and writes
    nothing; an edit that changes nothing leaves no trace. If the power fails the part is as before.
    """
    person = desk_person(by)
    row = locked(Part.objects.filter(pk=pk)).get()
    values = _values(data, person=person)
    if not access.may_see_costs(person):
        del values["unit_cost_e4"]
    _require_new_number(data.number, pk=pk)
    changes = changed(row, values)
    if not changes:
        return row
    try:
        with transaction.atomic():
            saved = versions.save_edit(row, version=version, changes=changes)
    except IntegrityError:
        raise _taken(data.number) from None
    search_texts.index(saved)
    entry = Entry(verb="edit part", record=saved, facts={"changed": ", ".join(sorted(changes))})
    activity.record([entry], by=by)
    return saved


def _values(data: PartInput, *, person: Person) -> dict[str, Any]:
    if not data.number.strip():
        raise BadInput("number", data.number, _("the number by which the shop knows the part"))
    if not data.description.strip():
        raise BadInput("description", data.description, _("what the part is called"))
    if data.unit_cost is not None and not access.may_see_costs(person):
        raise NotAllowed(_("What a part costs is the owner's to say."))
    return {
        "number": data.number.strip(),
        "description": data.description.strip(),
        "unit": data.unit,
        "condition": data.condition,
        "unit_price_e4": _e4(data.unit_price, field="unit_price"),
        "unit_cost_e4": _e4(data.unit_cost, field="unit_cost"),
        "tax_code_id": _tax_code(data.tax_code),
        "is_active": data.is_active,
    }


def _e4(value: Decimal | None, *, field: str) -> int | None:
    if value is None:
        return None
    if value < 0:
        raise BadInput(field, value, _("an amount of 0 or more"))
    return to_e4(value, field=field)


def _tax_code(pk: int | None) -> int | None:
    if pk is not None and not TaxCode.objects.filter(pk=pk).exists():
        raise BadInput("tax_code", pk, _("one of the shop's tax codes"))
    return pk


def _require_new_number(number: str, *, pk: int | None) -> None:
    known = part_by_number(number, is_active_only=False)
    if known is not None and known.pk != pk:
        raise _taken(known.number)


def _taken(number: str) -> BadInput:
    return BadInput("number", number, _("a number that no other part of the list has"))

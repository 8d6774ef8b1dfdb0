"""The spec book is written: families of engines, and the values of each with the page they came from."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, models, transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.changes import changed, told
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import book_keeper
from shopapp.actions.spec_values import ValueInput
from shopapp.actions.tightening_specs import TighteningInput, stage_columns, write_stages
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.models import Engine, EngineFamily, TighteningSpec
from shopapp.models.spec_book import MOST_CYLINDERS, SpecRow
from shopapp.queries.spec_rows import MODELS, ValueKey


@dataclass(frozen=True, kw_only=True)
class FamilyInput:
    """A family of engines; each figure with its page. Ranges are given whole, or not at all."""

    make: str
    name: str
    covers: str = ""
    manual: str = ""
    power_from: Decimal | None = None
    power_to: Decimal | None = None
    power_page: str = ""
    throttle_from: int | None = None
    throttle_to: int | None = None
    throttle_page: str = ""
    gear_ratio: Decimal | None = None
    gear_page: str = ""
    cylinders: int | None = None
    cylinders_page: str = ""
    is_active: bool = True


@transaction.atomic
def add_family(data: FamilyInput, *, by: Actor) -> EngineFamily:
    """Write a new family of engines into the spec book.

    Locks nothing but the chain head, last; of two who write the same name at once the second is told. The
    key of the form keeps a second sender from a second family. If the power fails, all of it or nothing.
    """
    book_keeper(by)
    row = _created(EngineFamily, _family(data), field="name")
    activity.record([_wrote(row, verb="add family")], by=by)
    return row


@transaction.atomic
def edit_family(pk: int, data: FamilyInput, *, version: int, by: Actor) -> EngineFamily:
    """Save what was changed of a family; one that is not active is no longer offered for an engine.

    Locks the family, then the chain head. A second sender with the same version gets Stale and writes
    nothing; an edit that changes nothing leaves no trace. If the power fails it is as before.
    """
    book_keeper(by)
    row = locked(EngineFamily.objects.filter(pk=pk)).get()
    changes = changed(row, _family(data))
    if not changes:
        return row
    facts = {"what": f"{row}", **told(row, changes)}
    saved = _saved(row, version=version, changes=changes, field="name")
    activity.record([Entry(verb="edit family", record=saved, facts=facts)], by=by)
    return saved


@transaction.atomic
def remove_family(pk: int, *, by: Actor) -> None:
    """Take a family with its values out of the book. Raises Refused once an engine belongs to it.

    Locks the family, then the chain head. A second sender finds nothing left and changes nothing. If the
    power fails, all of it is there or nothing.
    """
    book_keeper(by)
    row = locked(EngineFamily.objects.filter(pk=pk)).first()
    if row is None:
        return
    if Engine.objects.filter(family=row).exists():
        raise Refused(_("Engines belong to this family. Say that it is not offered any more instead."))
    entry = _wrote(row, verb="remove family")
    _removed(row)
    activity.record([entry], by=by)


@transaction.atomic
def add_value(family_pk: int, data: ValueInput, *, by: Actor) -> SpecRow:
    """Write a value of a family with its page.

    Locks the family, then the chain head. The key of the form keeps a second sender from a second value.
    If the power fails, all of it or nothing. Raises BadInput for what the family has already.
    """
    book_keeper(by)
    family = locked(EngineFamily.objects.filter(pk=family_pk)).get()
    row = write_value(family, data)
    activity.record([_wrote(row, verb="add value")], by=by)
    return row


def write_value(family: EngineFamily, data: ValueInput) -> SpecRow:
    """Write a value inside the caller's transaction, who has asked for the right and tells the chain."""
    row = _created(data.model, {**data.checked(), "family": family}, field=_once_field(data))
    if isinstance(data, TighteningInput) and isinstance(row, TighteningSpec):
        write_stages(row, data.stages)
    return row


@transaction.atomic
def edit_value(key: ValueKey, data: ValueInput, *, version: int, by: Actor) -> SpecRow:
    """Save what was changed of a value. Readings that were judged by it keep what was in force then.

    Locks the value, then the chain head. A second sender with the same version gets Stale and writes
    nothing; an edit that changes nothing leaves no trace. If the power fails it is as before.
    """
    book_keeper(by)
    row: Any = locked(MODELS[key[0]]._default_manager.filter(pk=key[1])).get()
    changes = changed(row, data.checked())
    restaged = isinstance(data, TighteningInput) and _stages_of(row) != [
        stage_columns(one) for one in data.stages
    ]
    if not changes and not restaged:
        return row  # type: ignore[no-any-return]  # a row of MODELS
    facts = {"what": f"{row}", **told(row, changes), **({"stages": "changed"} if restaged else {})}
    saved: SpecRow = _saved(row, version=version, changes=changes, field=_once_field(data))
    if isinstance(data, TighteningInput) and isinstance(saved, TighteningSpec):
        write_stages(saved, data.stages)
    activity.record([Entry(verb="edit value", record=saved, facts=facts)], by=by)
    return saved


@transaction.atomic
def remove_value(key: ValueKey, *, by: Actor) -> None:
    """Take a value out of the book. Raises Refused where work rests on it.

    Locks the value, then the chain head. A second sender finds nothing left and changes nothing. If the
    power fails, all of it is there or nothing.
    """
    book_keeper(by)
    row: Any = locked(MODELS[key[0]]._default_manager.filter(pk=key[1])).first()
    if row is None:
        return
    entry = _wrote(row, verb="remove value")
    _removed(row)
    activity.record([entry], by=by)


def _family(data: FamilyInput) -> dict[str, Any]:
    for name in ("make", "name"):
        if not getattr(data, name).strip():
            raise BadInput(name, "", _("make and name of the family"))
    _require_range(data.power_from, to=data.power_to, field="power_to")
    _require_range(data.throttle_from, to=data.throttle_to, field="throttle_to")
    figures = (
        ("power_page", data.power_from),
        ("throttle_page", data.throttle_from),
        ("gear_page", data.gear_ratio),
        ("cylinders_page", data.cylinders),
    )
    for field, figure in figures:
        if figure is not None and not getattr(data, field).strip():
            raise BadInput(field, "", _("the page of the manual it came from"))
    if data.gear_ratio is not None and data.gear_ratio <= 0:
        raise BadInput("gear_ratio", data.gear_ratio, _("a ratio above 0, such as 1.85"))
    if data.cylinders is not None and not 1 <= data.cylinders <= MOST_CYLINDERS:
        raise BadInput(
            "cylinders", data.cylinders, _("a number from 1 to %(most)s") % {"most": MOST_CYLINDERS}
        )
    words = ("make", "name", "covers", "manual", *(field for field, _figure in figures))
    return {
        **{name: getattr(data, name).strip() for name in words},
        "power_from_tenths_hp": _tenths(data.power_from),
        "power_to_tenths_hp": _tenths(data.power_to),
        "throttle_from_rpm": data.throttle_from,
        "throttle_to_rpm": data.throttle_to,
        "gear_ratio_e4": None if data.gear_ratio is None else to_e4(data.gear_ratio, field="gear_ratio"),
        "cylinders": data.cylinders,
        "is_active": data.is_active,
    }


def _require_range(first: Decimal | int | None, *, to: Decimal | int | None, field: str) -> None:
    if (first is None) != (to is None):
        raise BadInput(field, "", _("both ends of the range; the same twice where there is only one"))
    if first is not None and to is not None and not 0 < first <= to:
        raise BadInput(field, to, _("figures above 0, the second as high as the first or higher"))


def _tenths(value: Decimal | None) -> int | None:
    return None if value is None else int(value * 10)


def _created[Row: models.Model](model: type[Row], values: dict[str, Any], *, field: str) -> Row:
    try:
        with transaction.atomic():
            return model._default_manager.create(**values)
    except IntegrityError:
        raise _taken(field) from None


def _saved[Row: models.Model](row: Row, *, version: int, changes: dict[str, Any], field: str) -> Row:
    try:
        with transaction.atomic():
            return versions.save_edit(row, version=version, changes=changes)
    except IntegrityError:
        raise _taken(field) from None


def _removed(row: models.Model) -> None:
    try:
        row.delete()
    except models.ProtectedError:
        raise Refused(_("Work rests on this, so it stays in the book. Change it instead.")) from None


def _once_field(data: ValueInput) -> str:
    return data.once_by[0] if data.once_by else "page"


def _taken(field: str) -> BadInput:
    return BadInput(field, "", _("one that is not in the book yet"))


def _stages_of(row: TighteningSpec) -> Sequence[dict[str, Any]]:
    stages = row.stages.order_by("position").values("kind", "value_e4", "unit", "goes_round")
    return [dict(one) for one in stages]


def _wrote(row: models.Model, *, verb: str) -> Entry:
    facts: Payload = {"what": f"{row}"}
    return Entry(verb=verb, record=row, facts=facts)

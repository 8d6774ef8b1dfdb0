"""When boats run here, and with which chances of a failure the shop starts where it has no record."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.bounds import require_within
from shopapp.actions.changes import changed, told
from shopapp.actions.locks import locked
from shopapp.actions.shop_terms import require_owner
from shopapp.calc.errors import BadInput
from shopapp.models import RepairKind, Shop

MONTHS = 12
LEAST, MOST = Decimal("0.0001"), Decimal("0.9999")


@dataclass(frozen=True, kw_only=True)
class ChancesInput:
    """The usual season, and by kind of repair the share that is back within one."""

    season_first_month: int
    season_months: int
    chances: Mapping[str, Decimal] = field(default_factory=dict)


@transaction.atomic
def edit_chances(data: ChancesInput, *, version: int, by: Actor) -> Shop:
    """Write the shop's season and starting chances if nobody changed the shop since ``version``.

    Quotes that are written already keep theirs. Locks the shop's row, then the chain head. A second sender
    with the same version gets Stale and writes nothing; an edit that changes nothing leaves no trace. If the
    power fails before the commit all is as before. Raises NotAllowed for anybody but the owner, BadInput at
    the field.
    """
    require_owner(by)
    row = locked(Shop.objects.filter(pk=1)).get()
    changes = changed(row, _columns(data))
    if not changes:
        return row
    facts = told(row, changes)
    saved = versions.save_edit(row, version=version, changes=changes)
    activity.record([Entry(verb="edit chances", record=saved, facts=facts)], by=by)
    return saved


def _columns(data: ChancesInput) -> dict[str, object]:
    for name in ("season_first_month", "season_months"):
        require_within(name, getattr(data, name), least=1, most=MONTHS)
    return {
        "season_first_month": data.season_first_month,
        "season_months": data.season_months,
        "starting_chances": {kind: _e4(kind, chance) for kind, chance in data.chances.items()},
    }


def _e4(kind: str, chance: Decimal) -> int:
    if kind not in RepairKind.values:
        raise BadInput("kind", kind, ", ".join(RepairKind.values))
    if not LEAST <= chance <= MOST:
        raise BadInput(kind, chance, _("a chance that is neither nil nor certain"))
    return round(chance * 10_000)

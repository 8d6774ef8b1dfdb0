"""Boats in words, what their hull number says, who owned them when."""

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from shopapp.calc.hull_id import SEPARATORS, read_hull_id
from shopapp.models import Vessel, VesselOwnership


@dataclass(frozen=True, kw_only=True)
class HullReading:
    """What a hull number says, and what is odd about it; it never stops anybody."""

    says: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Owner:
    """Somebody's time as owner (half-open days)."""

    pk: int
    name: str
    phone: str
    from_date: date
    until_date: date | None


def boat_words(vessel: Vessel) -> str:
    """The boat's name, or make and model, or a word for a boat without either."""
    return vessel.name or _build_of(vessel) or _("boat without a name")


def boat_line(vessel: Vessel) -> str:
    """The boat's name, with make and model behind it where both are known."""
    build = _build_of(vessel)
    return f"{vessel.name} ({build})" if vessel.name and build else boat_words(vessel)


def _build_of(vessel: Vessel) -> str:
    return " ".join(filter(None, [vessel.make, vessel.model]))


def hull_reading(text: str) -> HullReading | None:
    """What a hull number says; nothing for an empty one. No query, refuses nothing."""
    if SEPARATORS.issuperset(text):
        return None
    read = read_hull_id(text)
    says = []
    if read.mic and read.is_valid:
        says.append(_("maker's code %(code)s") % {"code": read.mic})
    if read.year is not None:
        says.append(_("built %(year)s") % {"year": read.year})
    if read.model_year is not None:
        says.append(_("model year %(year)s") % {"year": read.model_year})
    return HullReading(says=", ".join(says), remarks=read.remarks)


def owners_of(vessel_pk: int) -> tuple[Owner, ...]:
    """Owners of a boat, the present one first. One query."""
    rows = VesselOwnership.objects.filter(vessel=vessel_pk).select_related("customer").order_by("-pk")
    return tuple(
        Owner(
            pk=row.customer_id,
            name=row.customer.name,
            phone=row.customer.phone,
            from_date=row.from_date,
            until_date=row.until_date,
        )
        for row in rows
    )

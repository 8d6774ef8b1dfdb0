"""What somebody may write into the spec book: one input for each kind of value, turned into columns."""

from abc import ABC, abstractmethod
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from django.utils.translation import gettext as _

from shopapp.actions.bounds import require_within
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.calc.units import FACTS, Unit, millilitres, units_like
from shopapp.calc.verdicts import BY_CYLINDER, OVER_TIME, Kind, limit_units_of
from shopapp.models import (
    Bulletin,
    FluidCapacity,
    KnownFault,
    ReadingKind,
    ReadingLimit,
    ServiceInterval,
    Warmth,
)
from shopapp.models.spec_book import SpecRow

MOST_HOURS, MOST_MONTHS = 20_000, 240


@dataclass(frozen=True, kw_only=True)
class ValueInput(ABC):
    """A value of a family with the page it came from."""

    model: ClassVar[type[SpecRow]]
    # the field by which a family has it once; empty where it may have many alike
    once_by: ClassVar[tuple[str, ...]] = ()
    page: str

    @abstractmethod
    def columns(self) -> dict[str, Any]:
        """The columns of its table, checked. Raises BadInput at the field of the form."""

    def checked(self) -> dict[str, Any]:
        """All columns, the page too."""
        if not self.page.strip():
            raise BadInput("page", self.page, _("where it stands: the page, the bulletin, or own experience"))
        return {**self.columns(), "page": self.page.strip()}


@dataclass(frozen=True, kw_only=True)
class CapacityInput(ValueInput):
    """How much goes into one point; ``level_to``: up to where."""

    model = FluidCapacity
    once_by = ("point",)
    point: str
    amount: Decimal
    unit: Unit
    product: str = ""
    level_to: str = ""

    def columns(self) -> dict[str, Any]:
        _require_word("point", self.point, _("where the fluid goes in"))
        if self.unit not in units_like(Unit.LITRE):
            raise BadInput("unit", self.unit, _("a unit of volume"))
        ml = millilitres(self.amount, unit=self.unit)
        if self.amount <= 0 or ml <= 0:
            raise BadInput("amount", self.amount, _("an amount above 0"))
        return {
            "point": self.point.strip(),
            "amount_e4": to_e4(self.amount, field="amount"),
            "unit": self.unit.value,
            "ml": ml,
            "product": self.product,
            "level_to": self.level_to,
        }


@dataclass(frozen=True, kw_only=True)
class LimitInput(ValueInput):
    """What a reading may be: bounds, for compression a spread, for a pressure over time what it may lose."""

    model = ReadingLimit
    once_by = ("kind", "point", "warmth")
    kind: ReadingKind
    point: str = ""
    warmth: Warmth | None = None
    minimum: Decimal | None = None
    maximum: Decimal | None = None
    unit: Unit | None = None
    most_spread: Decimal | None = None
    loss: Decimal | None = None
    loss_minutes: Decimal | None = None
    note: str = ""

    def columns(self) -> dict[str, Any]:
        kind = Kind(self.kind)
        if kind == Kind.FULL_THROTTLE:
            raise BadInput("kind", self.kind.label, _("a reading; full throttle stands with the family"))
        self._require_unit(kind)
        self._require_fit(kind)
        return {
            "kind": self.kind,
            "point": "" if kind in BY_CYLINDER else self.point.strip(),
            "warmth": self.warmth or "",
            "unit": self.unit.value if self.unit is not None else "",
            "note": self.note,
            **{
                f"{name}_e4": _figure(name, getattr(self, name))
                for name in ("minimum", "maximum", "most_spread", "loss", "loss_minutes")
            },
        }

    def _require_unit(self, kind: Kind) -> None:
        fitting = limit_units_of(kind)
        if self.unit not in fitting:
            names = ", ".join(FACTS[one].symbol for one in fitting if one is not None)
            accepted = _("one of %(units)s") % {"units": names} if names else _("no unit: it has only one")
            raise BadInput("unit", FACTS[self.unit].symbol if self.unit is not None else "", accepted)

    def _require_fit(self, kind: Kind) -> None:
        """Only the figures by which this kind is judged, and at least one of them."""
        fitting = _FIGURES.get(kind, ("minimum", "maximum"))
        given = [name for name in _ALL_FIGURES if getattr(self, name) is not None]
        for name in given:
            if name not in fitting:
                raise BadInput(name, getattr(self, name), _("nothing: this reading is not judged by it"))
        if not given:
            raise BadInput(fitting[0], "", _("a figure by which the reading is judged"))
        is_range = self.minimum is not None and self.maximum is not None and kind != Kind.FLUID_LOSS
        if is_range and self.maximum < self.minimum:  # type: ignore[operator]  # both are there
            raise BadInput("maximum", self.maximum, _("a figure of the minimum or more"))
        if (self.loss is None) != (self.loss_minutes is None):
            name = "loss" if self.loss is None else "loss_minutes"
            raise BadInput(name, "", _("what may be lost, and in how many minutes"))


_ALL_FIGURES = ("minimum", "maximum", "most_spread", "loss", "loss_minutes")
_FIGURES: dict[Kind, tuple[str, ...]] = {
    Kind.COMPRESSION: ("minimum", "maximum", "most_spread"),
    Kind.LEAK_DOWN: ("maximum",),
    **dict.fromkeys([one for one in OVER_TIME if one != Kind.FLUID_LOSS], ("loss", "loss_minutes")),
}


@dataclass(frozen=True, kw_only=True)
class IntervalInput(ValueInput):
    """What is done every so many hours or months, whichever comes first."""

    model = ServiceInterval
    once_by = ("what",)
    what: str
    hours: int | None = None
    months: int | None = None

    def columns(self) -> dict[str, Any]:
        _require_word("what", self.what, _("what is done"))
        if self.hours is None and self.months is None:
            raise BadInput("hours", "", _("hours, months, or both"))
        for name, most in (("hours", MOST_HOURS), ("months", MOST_MONTHS)):
            value = getattr(self, name)
            if value is not None:
                require_within(name, value, least=1, most=most)
        return {"what": self.what.strip(), "hours": self.hours, "months": self.months}


@dataclass(frozen=True, kw_only=True)
class FaultInput(ValueInput):
    """What often goes wrong, and what to look at first."""

    model = KnownFault
    text: str

    def columns(self) -> dict[str, Any]:
        _require_word("text", self.text, _("what goes wrong, and what to look at first"))
        return {"text": self.text.strip()}


@dataclass(frozen=True, kw_only=True)
class BulletinInput(ValueInput):
    """A bulletin for engines of some serials; an empty bound is open."""

    model = Bulletin
    once_by = ("number",)
    number: str
    text: str
    serial_from: str = ""
    serial_to: str = ""

    def columns(self) -> dict[str, Any]:
        _require_word("number", self.number, _("the number of the bulletin"))
        _require_word("text", self.text, _("what it says"))
        return {
            "number": self.number.strip(),
            "text": self.text.strip(),
            "serial_from": self.serial_from.strip(),
            "serial_to": self.serial_to.strip(),
        }


def _require_word(field: str, text: str, accepted: str) -> None:
    if not text.strip():
        raise BadInput(field, text, accepted)


def _figure(field: str, value: Decimal | None) -> int | None:
    """A figure as stored. What is lost, or how far cylinders differ, is not below nought."""
    if value is not None and value < 0 and field not in ("minimum", "maximum"):
        raise BadInput(field, value, _("a figure of 0 or more"))
    if value == 0 and field == "loss_minutes":
        raise BadInput(field, value, _("a time above 0 minutes"))
    return None if value is None else to_e4(value, field=field)

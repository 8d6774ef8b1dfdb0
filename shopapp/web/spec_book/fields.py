"""Fields that the forms of the spec book share."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.calc.units import FACTS, Unit
from shopapp.web.shared.forms import NumberField
from shopapp.web.shared.text_fields import LineField

NIL = Decimal(0)
MOST_FIGURE = Decimal(1_000_000)


def page_field(label: Any = None, *, required: bool = True) -> LineField:
    """Where a value stands in the manual."""
    return LineField(
        label=label or _("Where it stands"),
        max_length=60,
        required=required,
        help_text=_("Manual page or bulletin; “own experience” if nobody printed it.") if required else "",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def figure_field(label: Any, *, least: Decimal | None = NIL, **kwargs: Any) -> NumberField:
    """A figure of the manual."""
    kwargs.setdefault("required", False)
    return NumberField(label=label, decimals=4, least=least, most=MOST_FIGURE, **kwargs)


def count_field(label: Any, *, most: int, **kwargs: Any) -> NumberField:
    """A whole number from one."""
    return NumberField(
        label=label, decimals=0, least=Decimal(1), most=Decimal(most), required=False, **kwargs
    )


def unit_choices(units: tuple[Unit | None, ...], *, none: Any = "–") -> list[tuple[str, Any]]:
    """Units to choose from; nothing where a figure has only one."""
    return [(one.value, FACTS[one].symbol) if one is not None else ("", none) for one in units]


def as_unit(value: str) -> Unit | None:
    """A unit as chosen."""
    return Unit(value) if value else None


def as_count(value: Decimal | None) -> int | None:
    """A whole number as typed."""
    return None if value is None else int(value)


def as_decimal(value: int | None) -> Decimal | None:
    """A whole number for a field of numbers."""
    return None if value is None else Decimal(value)

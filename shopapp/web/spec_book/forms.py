"""The form of a family of engines."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.spec_book import FamilyInput
from shopapp.models import EngineFamily
from shopapp.models.spec_book import MOST_CYLINDERS
from shopapp.queries.figures import figure
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.text_fields import LineField
from shopapp.web.spec_book.fields import as_count, as_decimal, count_field, page_field


class FamilyForm(ShopForm):
    """A family of engines with the figures that the whole family shares."""

    make = LineField(label=_("Make"), max_length=80)
    name = LineField(label=_("Family"), max_length=80, help_text=_("As you call it, such as P60."))
    covers = LineField(label=_("Which models and years"), max_length=200, required=False)
    manual = LineField(
        label=_("Manual"),
        max_length=120,
        required=False,
        help_text=_("Its title or number, once for all pages."),
    )
    power_from = NumberField(
        label=_("Power from"), decimals=1, least=Decimal("0.1"), most=Decimal(2000), required=False
    )
    power_to = NumberField(
        label=_("Power to"), decimals=1, least=Decimal("0.1"), most=Decimal(2000), required=False
    )
    power_page = page_field(_("Page of the power"), required=False)
    throttle_from = count_field(_("Full throttle from"), most=20_000)
    throttle_to = count_field(_("Full throttle to"), most=20_000)
    throttle_page = page_field(_("Page of full throttle"), required=False)
    gear_ratio = NumberField(
        label=_("Gear ratio"),
        decimals=4,
        least=Decimal("0.1"),
        most=Decimal(10),
        required=False,
        help_text=_("Turns of the engine for one of the propeller, such as 1.85."),
    )
    gear_page = page_field(_("Page of the gear ratio"), required=False)
    cylinders = count_field(_("Cylinders"), most=MOST_CYLINDERS)
    cylinders_page = page_field(_("Page of the cylinders"), required=False)
    is_active = forms.BooleanField(label=_("Offered for engines"), required=False, initial=True)

    def as_input(self) -> FamilyInput:
        """What the action needs."""
        typed = {name: self.cleaned_data[name] for name in FAMILY_FIELDS}
        counts = {name: as_count(typed[name]) for name in ("throttle_from", "throttle_to", "cylinders")}
        return FamilyInput(**typed | counts)


class EditFamilyForm(FamilyForm, VersionedForm):
    """A family that is in the book."""


FAMILY_FIELDS = tuple(FamilyForm.base_fields)


def family_values(row: EngineFamily) -> Mapping[str, Any]:
    """A family's values by the names of the form's fields."""
    words = ("make", "name", "covers", "manual", "is_active")
    pages = ("power_page", "throttle_page", "gear_page", "cylinders_page")
    return {
        **{name: getattr(row, name) for name in (*words, *pages)},
        "power_from": _tenths(row.power_from_tenths_hp),
        "power_to": _tenths(row.power_to_tenths_hp),
        "throttle_from": as_decimal(row.throttle_from_rpm),
        "throttle_to": as_decimal(row.throttle_to_rpm),
        "gear_ratio": None if row.gear_ratio_e4 is None else figure(row.gear_ratio_e4),
        "cylinders": as_decimal(row.cylinders),
    }


def _tenths(value: int | None) -> Decimal | None:
    return None if value is None else Decimal(value) / 10

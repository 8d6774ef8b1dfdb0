"""The form of a part of the shop's list."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.parts import PartInput
from shopapp.calc.money import from_e4
from shopapp.models import Part, PartCondition, Unit
from shopapp.queries.parts import tax_codes
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.text_fields import LineField

# a part that the customer brings is never on the list
LISTED = [choice for choice in PartCondition.choices if choice[0] != PartCondition.CUSTOMERS_OWN]


class PartForm(ShopForm):
    """A part. The cost is there for the owner only; from anybody else the field does not exist."""

    number = LineField(
        label=_("Part number"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    description = LineField(label=_("What it is"), max_length=200)
    unit = forms.TypedChoiceField(label=_("Sold by"), choices=Unit, coerce=Unit, initial=Unit.EACH)
    condition = forms.TypedChoiceField(
        label=_("New or not"), choices=LISTED, coerce=PartCondition, initial=PartCondition.NEW
    )
    unit_price = NumberField(
        label=_("Sells for"),
        decimals=4,
        least=Decimal(0),
        required=False,
        help_text=_("Without tax. Empty: cost and markup."),
    )
    unit_cost = NumberField(label=_("Costs the shop"), decimals=4, least=Decimal(0), required=False)
    tax_code = forms.TypedChoiceField(label=_("Tax"), coerce=int, empty_value=None, required=False)
    is_active = forms.BooleanField(label=_("Offered when parts are logged"), required=False, initial=True)

    def __init__(self, *args: Any, sees_costs: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not sees_costs:
            del self.fields["unit_cost"]
        choices = [("", _("as parts usually are")), *tax_codes()]
        self.fields["tax_code"].choices = choices  # type: ignore[attr-defined]  # a field of choices

    def as_input(self) -> PartInput:
        """What the action needs."""
        typed = self.cleaned_data
        return PartInput(
            **{name: typed[name] for name in ("number", "description", "unit", "condition")},
            unit_price=typed["unit_price"],
            unit_cost=typed.get("unit_cost"),
            tax_code=typed["tax_code"],
            is_active=typed["is_active"],
        )


class EditPartForm(PartForm, VersionedForm):
    """A part that is on the list already."""


def part_values(row: Part, *, sees_costs: bool) -> Mapping[str, Any]:
    """A part's values by the names of the form's fields; the cost for the owner only."""
    values: dict[str, Any] = {
        name: getattr(row, name) for name in ("number", "description", "unit", "condition", "is_active")
    }
    values |= {"unit_price": _amount(row.unit_price_e4), "tax_code": row.tax_code_id}
    return values | ({"unit_cost": _amount(row.unit_cost_e4)} if sees_costs else {})


def _amount(e4: int | None) -> Decimal | None:
    return from_e4(e4) if e4 is not None else None

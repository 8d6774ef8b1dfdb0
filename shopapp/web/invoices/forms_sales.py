"""The form of a sale over the counter: up to six things, how it is paid, and whose name is on it."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext_lazy as _

from shopapp.actions.counter_sales import SaleInput, SaleLine
from shopapp.models import PaymentMethod
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.text_fields import LineField

ROWS = 6
NAMES = ("number", "description", "quantity", "unit_price")


class SaleForm(ShopForm):
    """Rows that are left empty count nowhere. ``seen`` is the total, in coins, that the desk was shown."""

    method = forms.ChoiceField(
        label=_("Paid by"),
        choices=PaymentMethod.choices,
        widget=forms.RadioSelect,
        initial=PaymentMethod.CASH,
    )
    customer = forms.IntegerField(
        label=_("Customer number"),
        min_value=1,
        max_value=2_000_000_000,
        required=False,
        widget=forms.HiddenInput,
    )
    seen = forms.IntegerField(required=False, min_value=0, max_value=10**15, widget=forms.HiddenInput)

    def __init__(self, *args: Any, locale: str = "en", **kwargs: Any) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        for name, field in _row_fields().items():
            if isinstance(field, NumberField):
                field.locale = locale
            self.fields[name] = field

    def rows(self) -> Iterator[tuple[BoundField, ...]]:
        """The fields of each row, for the page."""
        for place in range(1, ROWS + 1):
            yield tuple(self[f"{name}_{place}"] for name in NAMES)

    def as_input(self) -> SaleInput:
        """What the action needs: rows keep their place, so that a refusal reaches its field."""
        typed = self.cleaned_data
        return SaleInput(
            lines=[self._line(place) for place in range(1, self._last() + 1)],
            method=typed["method"],
            customer=typed["customer"],
        )

    def _last(self) -> int:
        """The last row with anything in it; one in between that is empty is asked about."""
        filled = [place for place in range(1, ROWS + 1) if self._is_filled(place)]
        return max(filled, default=1)

    def _is_filled(self, place: int) -> bool:
        number, description, _quantity, price = (self.cleaned_data[f"{name}_{place}"] for name in NAMES)
        return bool(number or description or price is not None)

    def _line(self, place: int) -> SaleLine:
        number, description, quantity, price = (self.cleaned_data[f"{name}_{place}"] for name in NAMES)
        return SaleLine(
            number=number,
            description=description,
            quantity=quantity if quantity is not None else Decimal(1),
            unit_price=price,
        )


def _row_fields() -> dict[str, forms.Field]:
    fields: dict[str, forms.Field] = {}
    for place in range(1, ROWS + 1):
        fields[f"number_{place}"] = LineField(
            label=_("Part number"),
            max_length=40,
            required=False,
            widget=forms.TextInput(attrs={"list": "parts", "autocomplete": "off"}),
        )
        fields[f"description_{place}"] = LineField(label=_("What"), max_length=200, required=False)
        fields[f"quantity_{place}"] = NumberField(
            label=_("Quantity"), decimals=3, least=Decimal("0.001"), most=Decimal(10_000), required=False
        )
        fields[f"unit_price_{place}"] = NumberField(
            label=_("Price of one"), decimals=4, least=Decimal(0), required=False
        )
    return fields

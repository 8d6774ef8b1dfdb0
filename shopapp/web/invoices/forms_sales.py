"""The form of a sale over the counter: up to six things, how it is paid, and whose name is on it."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.forms import BoundField
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from shopapp.actions.counter_sales import SaleInput, SaleLine
from shopapp.models import PaymentMethod
from shopapp.queries.arrivals import FoundCustomer
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
    whose = LineField(
        label=_("Whose name is on the bill?"),
        max_length=80,
        required=False,
        help_text=_("Name or last digits of the telephone of a customer. Empty: nobody's."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    customer = forms.ChoiceField(label=_("Which of them?"), required=False, widget=forms.RadioSelect)
    seen = forms.IntegerField(required=False, min_value=0, max_value=10**15, widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, fitting: Sequence[FoundCustomer] = (), locale: str = "en", **kwargs: Any
    ) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        self.fitting = fitting
        self._offer_customers()
        for name, field in _row_fields().items():
            if isinstance(field, NumberField):
                field.locale = locale
            self.fields[name] = field

    def _offer_customers(self) -> None:
        """Which of several it is; what was chosen among others before counts no more."""
        field, known = self.fields["customer"], [str(one.pk) for one in self.fitting]
        if isinstance(field, forms.ChoiceField):
            field.choices = [(str(one.pk), f"{one.name}, {one.phone}") for one in self.fitting]
        if self.is_bound and self.data.get("customer", "") not in known:
            data = cast("QueryDict", self.data).copy()
            data["customer"] = ""
            self.data = data

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("whose") and not cleaned.get("customer"):
            self._look_for_customer(cleaned)
        return cleaned

    def _look_for_customer(self, cleaned: dict[str, Any]) -> None:
        if len(self.fitting) == 1:
            cleaned["customer"] = str(self.fitting[0].pk)
        elif self.fitting:
            self.add_error("customer", _("Several fit. Say which of them."))
        else:
            self.add_error("whose", _("Nobody known here fits. Try fewer letters, or leave it empty."))

    @property
    def buyer(self) -> FoundCustomer | None:
        """The customer whose name will be on the bill, once that is clear."""
        chosen = getattr(self, "cleaned_data", {}).get("customer")
        return next((one for one in self.fitting if str(one.pk) == chosen), None)

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
            customer=self.buyer.pk if self.buyer is not None else None,
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

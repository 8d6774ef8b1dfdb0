"""Form fields that turn text into exact values, in the shop's own way of writing numbers."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.calc.errors import BadInput
from shopapp.calc.money import format_number, parse_number


class NumberField(forms.CharField):
    """A number as text in the shop's locale → Decimal; refuses what is not plainly a number."""

    def __init__(
        self,
        *,
        decimals: int,
        least: Decimal | None = None,
        most: Decimal = Decimal(1_000_000),
        **kwargs: Any,
    ) -> None:
        self.decimals, self.least, self.most = decimals, least, most
        self.locale = "en"
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("inputmode", "numeric" if decimals == 0 else "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_number(
                text,
                locale=self.locale,
                field=str(self.label),
                decimals=self.decimals,
                least=self.least,
                most=self.most,
            )
        except BadInput as error:
            raise forms.ValidationError(str(error), code="number") from error

    def prepare_value(self, value: Any) -> Any:
        return format_number(value, locale=self.locale) if isinstance(value, Decimal) else value


class ShopForm(forms.Form):
    """A form that knows the shop's locale; the first thing it says about a missing field is what to do."""

    error_css_class = "has-error"

    def __init__(self, *args: Any, locale: str = "en", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, NumberField):
                field.locale = locale
            field.error_messages.setdefault("required", "")
            field.error_messages["required"] = _("%(label)s is missing. Please fill it in.") % {
                "label": field.label or name
            }


class VersionedForm(ShopForm):
    """A form that carries the version of the record it started from."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=2_000_000_000)

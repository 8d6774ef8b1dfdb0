"""Form fields that turn text into exact values, in the shop's own way of writing numbers."""

from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone
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


class MomentField(forms.DateTimeField):
    """A day and a time of day on the shop's own clock; ``time_zone`` is set by the form."""

    def __init__(self, **kwargs: Any) -> None:
        self.time_zone = "UTC"
        widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
        super().__init__(widget=widget, input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"], **kwargs)
        self.error_messages["invalid"] = _("This is not a day and a time. Write it like 2026-06-30 14:30.")

    def to_python(self, value: Any) -> datetime | None:
        with timezone.override(ZoneInfo(self.time_zone)):
            return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        with timezone.override(ZoneInfo(self.time_zone)):
            return super().prepare_value(value)


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

"""A form field for a moment, as the clock on the shop's wall shows it."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

WRITTEN = "%Y-%m-%dT%H:%M"


class MomentField(forms.DateTimeField):
    """Day and time on the shop's own clock → a moment; an hour that the clock leaves out is refused.

    ``zone`` is set by the form.
    """

    def __init__(self, **kwargs: Any) -> None:
        self.zone = ZoneInfo("UTC")
        widget = forms.DateTimeInput(format=WRITTEN, attrs={"type": "datetime-local"})
        super().__init__(widget=widget, input_formats=[WRITTEN, "%Y-%m-%d %H:%M"], **kwargs)
        self.error_messages["invalid"] = _("This is not a day and a time. Write it like 2026-06-30 14:30.")

    def to_python(self, value: Any) -> datetime | None:
        with timezone.override(self.zone):
            return super().to_python(value)

    def prepare_value(self, value: Any) -> Any:
        with timezone.override(self.zone):
            return super().prepare_value(value)

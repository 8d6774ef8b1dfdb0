"""A form field for a moment, as the clock on the shop's wall shows it."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

WRITTEN = "%Y-%m-%dT%H:%M"


class MomentField(forms.DateTimeField):
    """Day and time in the shop's zone → a moment. ``zone`` is set by the form."""

    def __init__(self, **kwargs: Any) -> None:
        self.zone = ZoneInfo("UTC")
        widget = forms.DateTimeInput(format=WRITTEN, attrs={"type": "datetime-local"})
        super().__init__(widget=widget, input_formats=[WRITTEN, "%Y-%m-%d %H:%M"], **kwargs)
        self.error_messages["invalid"] = _("This is no day and time. Give both, such as 2026-06-02 14:05.")

    def to_python(self, value: Any) -> datetime | None:
        # Django reads it in its own zone, which is UTC here
        moment = super().to_python(value)
        return moment.replace(tzinfo=self.zone) if moment is not None else None

    def prepare_value(self, value: Any) -> Any:
        return value.astimezone(self.zone).strftime(WRITTEN) if isinstance(value, datetime) else value

"""A form field for a moment, as the clock on the shop's wall shows it."""

import re
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from shopapp.calc.clock import left_out_at, moment_of

WRITTEN = "%Y-%m-%dT%H:%M"
CLOCK = "%H:%M"
_LIKE = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?", re.ASCII)


class MomentField(forms.DateTimeField):
    """Day and time on the shop's own clock → a moment in UTC; an hour that the clock leaves out is refused.

    ``zone`` is set by the form, and ``now`` where it asks for something that has happened: of an hour that
    comes twice it is then the last that has passed, otherwise the first.
    """

    def __init__(self, **kwargs: Any) -> None:
        self.zone = ZoneInfo("UTC")
        self.now: datetime | None = None
        super().__init__(
            widget=forms.DateTimeInput(format=WRITTEN, attrs={"type": "datetime-local"}), **kwargs
        )
        self.error_messages |= {
            "invalid": _("This is not a day and a time. Write it like 2026-06-30 14:30."),
            "left_out": _(
                "The clock is put forward from %(begins)s to %(ends)s, so this time does not come. "
                "Write a time before %(begins)s, or %(ends)s or later."
            ),
        }

    def to_python(self, value: Any) -> datetime | None:
        if value in self.empty_values:
            return None
        try:
            return self._moment(str(value).strip())
        except (ValueError, OverflowError):
            raise ValidationError(self.error_messages["invalid"], code="invalid") from None

    def _moment(self, typed: str) -> datetime:
        if not _LIKE.fullmatch(typed):
            raise ValueError(typed)
        wall = datetime.fromisoformat(typed)
        left_out = left_out_at(wall, zone=self.zone)
        if left_out is not None:
            times = {"begins": f"{left_out.begins:{CLOCK}}", "ends": f"{left_out.ends:{CLOCK}}"}
            raise ValidationError(self.error_messages["left_out"], code="left_out", params=times)
        return moment_of(wall, zone=self.zone, now=self.now)

    def prepare_value(self, value: Any) -> Any:
        with timezone.override(self.zone):
            return super().prepare_value(value)

"""When a forgotten clock really ended."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.clocks import LONGEST_REASON, CorrectInput
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.moments import MomentField
from shopapp.web.shared.text_fields import LineField


class DayForm(forms.Form):
    """A day of the shop."""

    day = forms.DateField(required=False)


class CorrectForm(ShopForm):
    """The moment it ended, and how that is known."""

    off_at = MomentField(label=_("When did it really end?"))
    reason = LineField(label=_("How is that known?"), max_length=LONGEST_REASON)

    def __init__(self, *args: Any, zone: ZoneInfo, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["off_at"]
        field.zone, field.now = zone, now  # type: ignore[attr-defined]  # a field of moments

    def as_input(self) -> CorrectInput:
        return CorrectInput(off_at=self.cleaned_data["off_at"], reason=self.cleaned_data["reason"])

"""The form of a wage."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.wages import MOST_BURDEN, MOST_HOURLY, WageInput
from shopapp.web.shared.forms import NumberField, ShopForm

HUNDRED = Decimal(100)


class WageForm(ShopForm):
    """From which day on, what an hour earns, and what comes on top of it."""

    from_date = forms.DateField(
        label=_("From which day on?"),
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("This is not a day. Write it like 2026-06-30.")},
    )
    hourly = NumberField(label=_("Wage of an hour"), decimals=4, least=Decimal(0), most=MOST_HOURLY)
    burden = NumberField(
        label=_("On top of it, in percent"),
        decimals=2,
        least=Decimal(0),
        most=MOST_BURDEN * HUNDRED,
        help_text=_("Holiday, insurance and what else the shop pays for that hour."),
    )

    def as_input(self) -> WageInput:
        """What the action needs."""
        typed: dict[str, Any] = self.cleaned_data
        return WageInput(
            from_date=typed["from_date"], hourly=typed["hourly"], burden=typed["burden"] / HUNDRED
        )

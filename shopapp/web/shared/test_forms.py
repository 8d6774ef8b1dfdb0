"""The form of a test, at the desk and at the bench: verdict, how it was tested, the figures of a run."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.job_tests import MOST_DEGREES, RecordTestInput
from shopapp.calc.units import FACTS, Unit
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.log_forms import LOOKS
from shopapp.web.shared.text_fields import LineField, StoryField

LONGEST_TEXT = 4_000
SPEEDS = [
    (unit.value, FACTS[unit].symbol) for unit in (Unit.KNOT, Unit.MILE_PER_HOUR, Unit.KILOMETRE_PER_HOUR)
]


def _figure(label: Any, *, decimals: int, most: int) -> NumberField:
    return NumberField(label=label, decimals=decimals, least=Decimal(0), most=Decimal(most), required=False)


DEGREES = [(unit.value, FACTS[unit].symbol) for unit in (Unit.CELSIUS, Unit.FAHRENHEIT)]


def _degrees(label: Any) -> NumberField:
    return NumberField(label=label, decimals=1, least=-MOST_DEGREES, most=MOST_DEGREES, required=False)


class RunForm(ShopForm):
    """The verdict of a test, and what was read during the run; a run on the hose has no speeds."""

    verdict = forms.ChoiceField(
        label=_("Is it right now?"),
        choices=[("passed", _("Yes, it passed")), ("failed", _("No, back to the bench"))],
        widget=forms.RadioSelect,
    )
    conditions = LineField(
        label=_("How was it tested?"),
        max_length=200,
        required=False,
        help_text=_("For example: 20 minutes, half of it at full throttle, calm."),
    )
    rpm = _figure(_("rpm at full throttle"), decimals=0, most=20_000)
    there = _figure(_("Speed one way"), decimals=2, most=500)
    back = _figure(_("Speed back"), decimals=2, most=500)
    speed_unit = forms.TypedChoiceField(
        label=_("Speed in"),
        choices=SPEEDS,
        coerce=Unit,
        initial=Unit.KNOT,
        required=False,
        empty_value=Unit.KNOT,
    )
    pitch = _figure(_("Pitch of the propeller, in inches"), decimals=2, most=60)
    idle_temperature = _degrees(_("Temperature at idle"))
    full_temperature = _degrees(_("Temperature at full throttle"))
    temperature_unit = forms.TypedChoiceField(
        label=_("Temperature in"),
        choices=DEGREES,
        coerce=Unit,
        initial=Unit.CELSIUS,
        required=False,
        empty_value=Unit.CELSIUS,
    )
    temperature_point = LineField(
        label=_("Measured where"),
        max_length=60,
        required=False,
        help_text=_("As the spec book calls it, if it has a limit for one place."),
    )
    load = LineField(
        label=_("On board"),
        max_length=120,
        required=False,
        help_text=_("For example: two people, half a tank."),
    )
    warnings = LineField(label=_("Warnings and alarms"), max_length=200, required=False)
    fluid_seen = forms.ChoiceField(
        label=_("The gear oil afterwards"), choices=[("", "–"), *LOOKS], required=False
    )
    remarks = StoryField(
        label=_("What was seen?"),
        max_length=LONGEST_TEXT,
        required=False,
        help_text=_("If it did not pass: what is still wrong."),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        unread = [name for name in ("there", "back") if cleaned.get(name) is None]
        if len(unread) == 1 and unread[0] not in self.errors:
            sentence = _("Give both speeds, there and back: one alone holds the wind and the current.")
            self.add_error(unread[0], sentence)
        return cleaned

    def as_input(self) -> RecordTestInput:
        data = self.cleaned_data
        return RecordTestInput(
            has_passed=data["verdict"] == "passed",
            conditions=data["conditions"],
            remarks=data["remarks"],
            there=data["there"],
            back=data["back"],
            unit=data["speed_unit"],
            rpm=int(data["rpm"]) if data["rpm"] is not None else None,
            pitch=data["pitch"],
            idle_temperature=data["idle_temperature"],
            full_temperature=data["full_temperature"],
            temperature_unit=data["temperature_unit"],
            temperature_point=data["temperature_point"],
            load=data["load"],
            warnings=data["warnings"],
            fluid_seen=data["fluid_seen"],
        )

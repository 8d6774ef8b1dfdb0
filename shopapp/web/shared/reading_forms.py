"""The form of a reading, at the desk and on the tablet: the fields that its kind asks for, and no others."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.readings import MOST_FIGURE, MOST_MINUTES, FigureInput, ReadingInput
from shopapp.calc import verdicts
from shopapp.calc.units import FACTS, Unit
from shopapp.calc.verdicts import Kind, units_of
from shopapp.models import ReadingKind, Warmth
from shopapp.models.spec_book import MOST_CYLINDERS
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.text_fields import LineField

NIL = Decimal(0)
BY_CYLINDER = tuple(ReadingKind(one.value) for one in verdicts.BY_CYLINDER)
OVER_TIME = tuple(ReadingKind(one.value) for one in verdicts.OVER_TIME)
CYLINDERS = tuple(range(1, MOST_CYLINDERS + 1))


@dataclass(frozen=True, kw_only=True)
class Asked:
    """How the two figures of a kind are called; the second may be asked for too, or be left out."""

    value: Any
    second: Any = None
    is_second_needed: bool = False
    second_help: Any = ""


_PLAIN = Asked(value=_("Reading"))
_HELD = Asked(value=_("At the start"), second=_("At the end"), is_second_needed=True)
ASKED: Mapping[ReadingKind, Asked] = {
    ReadingKind.COMPRESSION: Asked(value=_("Cylinder"), second=_("With oil, cylinder")),
    ReadingKind.LEAK_DOWN: Asked(value=_("Pressure supplied"), second=_("Held by cylinder")),
    ReadingKind.GEARCASE_PRESSURE: _HELD,
    ReadingKind.GEARCASE_VACUUM: _HELD,
    ReadingKind.FLUID_LOSS: Asked(
        value=_("Lost"), second=_("Left in it"), second_help=_("Gives the running time left.")
    ),
    ReadingKind.FULL_THROTTLE: Asked(
        value=_("Revs"),
        second=_("Pitch of the propeller, in inches"),
        second_help=_("Gives the pitch advised."),
    ),
}


class ReadingForm(ShopForm):
    """A reading. Its kind (``taken``) comes with it, or from the page; each figure has a field of its own."""

    reading = forms.TypedChoiceField(
        choices=ReadingKind, coerce=ReadingKind, widget=forms.HiddenInput, label=_("Reading")
    )
    point = LineField(label=_("Measured where"), max_length=60, required=False)
    warmth = forms.TypedChoiceField(
        label=_("Engine"),
        choices=[("", "–"), *Warmth.choices],
        coerce=Warmth,
        empty_value=None,
        required=False,
    )
    throttle = LineField(label=_("Throttle"), max_length=40, required=False)
    minutes = NumberField(label=_("Minutes"), decimals=2, least=Decimal("0.01"), most=MOST_MINUTES)
    remark = LineField(label=_("Remark"), max_length=300, required=False)

    def __init__(self, *args: Any, reading: ReadingKind | None = None, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        asked = self.data.get("reading", "") if self.is_bound else (reading or "")
        self.taken = next((one for one in ReadingKind if one == asked), ReadingKind.COMPRESSION)
        self.initial.setdefault("reading", self.taken.value)
        self.locale = locale
        self._put_figures(locale=locale)
        self._put_units()
        for name in self._unasked():
            del self.fields[name]

    def _put_figures(self, *, locale: str) -> None:
        asked, kind = ASKED.get(self.taken, _PLAIN), self.taken
        alone = kind != ReadingKind.COMPRESSION
        if alone:
            least = None if kind in (ReadingKind.TEMPERATURE, ReadingKind.FLUID_LOSS) else NIL
            self.fields["value"] = _number(asked.value, locale=locale, least=least, required=True)
        if asked.second is not None and kind not in BY_CYLINDER:
            self.fields["second"] = _number(
                asked.second,
                locale=locale,
                least=NIL,
                required=asked.is_second_needed,
                help_text=asked.second_help,
            )
        for number in CYLINDERS if kind in BY_CYLINDER else ():
            names = ("second",) if alone else ("value", "second")
            for name in names:
                label = _("%(what)s %(number)s") % {"what": getattr(asked, name), "number": number}
                self.fields[f"{name}_{number}"] = _number(label, locale=locale, least=NIL, required=False)

    def _put_units(self) -> None:
        units = [one for one in units_of(Kind(self.taken)) if one is not None]
        if units:
            self.fields["unit"] = forms.TypedChoiceField(
                label=_("Unit"), choices=[(one.value, FACTS[one].symbol) for one in units], coerce=Unit
            )

    def _unasked(self) -> list[str]:
        unasked = [] if self.taken in OVER_TIME else ["minutes"]
        if self.taken in BY_CYLINDER:
            unasked.append("point")
        is_running = self.taken in (
            ReadingKind.OIL_PRESSURE,
            ReadingKind.FUEL_PRESSURE,
            ReadingKind.VOLTAGE,
            ReadingKind.TEMPERATURE,
            ReadingKind.COMPRESSION,
        )
        return unasked if is_running else [*unasked, "throttle"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and self.taken in BY_CYLINDER and not self._by_cylinder():
            first = "second_1" if self.taken == ReadingKind.LEAK_DOWN else "value_1"
            self.add_error(first, _("Give the figure of one cylinder or more."))
        return cleaned

    def as_input(self) -> ReadingInput:
        """What the action needs."""
        data = self.cleaned_data
        alone = FigureInput(value=data["value"], second=data.get("second")) if "value" in data else None
        figures = self._by_cylinder() if self.taken in BY_CYLINDER else (alone,)
        return ReadingInput(
            kind=self.taken,
            figures=tuple(one for one in figures if one is not None),
            unit=data.get("unit"),
            minutes=data.get("minutes"),
            point=data.get("point", ""),
            warmth=data["warmth"],
            throttle=data.get("throttle", ""),
            remark=data["remark"],
        )

    def _by_cylinder(self) -> tuple[FigureInput, ...]:
        data, supplied = self.cleaned_data, self.cleaned_data.get("value")
        found = []
        for number in CYLINDERS:
            value, second = data.get(f"value_{number}", supplied), data.get(f"second_{number}")
            is_given = second is not None if self.taken == ReadingKind.LEAK_DOWN else value is not None
            if is_given and value is not None:
                found.append(FigureInput(cylinder=number, value=value, second=second))
        return tuple(found)

    def cylinders(self, shown: int) -> list[list[Any]]:
        """The fields of each cylinder that is shown: those of the engine, and those that were filled in."""
        rows = []
        for number in CYLINDERS:
            names = [name for name in (f"value_{number}", f"second_{number}") if name in self.fields]
            is_used = any(self[name].value() not in (None, "") for name in names)
            if names and (number <= shown or is_used):
                rows.append([self[name] for name in names])
        return rows


def _number(
    label: Any, *, locale: str, least: Decimal | None, required: bool, help_text: Any = ""
) -> NumberField:
    field = NumberField(
        label=label, decimals=4, least=least, most=MOST_FIGURE, required=required, help_text=help_text
    )
    field.locale = locale
    field.error_messages["required"] = _("%(label)s is missing. Please fill it in.") % {"label": label}
    return field

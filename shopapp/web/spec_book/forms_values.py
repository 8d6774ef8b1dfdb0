"""The forms of a family's values: each kind with the page it came from."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.spec_values import (
    MOST_HOURS,
    MOST_MONTHS,
    BulletinInput,
    CapacityInput,
    FaultInput,
    IntervalInput,
    LimitInput,
    ValueInput,
)
from shopapp.calc.units import Unit, units_like
from shopapp.calc.verdicts import Kind, limit_units_of
from shopapp.models import ReadingKind, Warmth
from shopapp.queries.figures import figure
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField, StoryField
from shopapp.web.spec_book.fields import (
    as_count,
    as_unit,
    count_field,
    figure_field,
    page_field,
    unit_choices,
)

# the range at full throttle stands with the family
LIMITED = [one for one in ReadingKind.choices if one[0] != ReadingKind.FULL_THROTTLE]


def _volumes() -> list[tuple[str, Any]]:
    """Asked for by the first form, since what knows the units is slow to load."""
    return unit_choices(units_like(Unit.LITRE))


def _limit_units() -> list[tuple[str, Any]]:
    units = dict.fromkeys(one for kind in Kind for one in limit_units_of(kind))
    return unit_choices(tuple(units), none=_("%, V or rpm"))


class ValueForm(ShopForm):
    """A value of a family. ``version`` is there once it is in the book."""

    kind_of_value: ClassVar[str]
    version = forms.IntegerField(
        widget=forms.HiddenInput, min_value=1, max_value=2_000_000_000, required=False
    )

    # what the form makes of what was typed
    makes: ClassVar[type[ValueInput]]

    def as_input(self) -> ValueInput:
        """What the action needs."""
        raise NotImplementedError

    @classmethod
    def once_by(cls) -> tuple[str, ...]:
        """The columns by which a family has such a value once; empty where it may have many."""
        return cls.makes.once_by

    @classmethod
    def values_of(cls, row: Any) -> Mapping[str, Any]:
        """A row's values by the names of the form's fields."""
        names = [name for name in cls.base_fields if name != "version"]
        return {name: _value(row, name) for name in names}


def _value(row: Any, name: str) -> Any:
    if hasattr(row, f"{name}_e4"):
        e4 = getattr(row, f"{name}_e4")
        return None if e4 is None else figure(e4)
    value = getattr(row, name)
    return Decimal(value) if isinstance(value, int) and not isinstance(value, bool) else value


class CapacityForm(ValueForm):
    """How much goes in where."""

    kind_of_value = "capacity"
    makes = CapacityInput
    point = LineField(label=_("Where it goes in"), max_length=60, help_text=_("Gearcase, sump, trim tank …"))
    amount = figure_field(_("How much"), required=True)
    unit = forms.TypedChoiceField(label=_("Unit"), choices=_volumes, coerce=Unit, initial=Unit.MILLILITRE)
    product = LineField(label=_("What to fill"), max_length=120, required=False)
    level_to = LineField(
        label=_("Up to where"), max_length=120, required=False, help_text=_("The vent hole, the upper mark …")
    )
    page = page_field()

    def as_input(self) -> CapacityInput:
        """What the action needs."""
        return CapacityInput(**_typed(self))


class LimitForm(ValueForm):
    """What a reading may be."""

    kind_of_value = "limit"
    makes = LimitInput
    kind = forms.TypedChoiceField(label=_("Reading"), choices=LIMITED, coerce=ReadingKind)
    point = LineField(
        label=_("Measured where"),
        max_length=60,
        required=False,
        help_text=_("Empty: wherever. At idle, at the rail, at the head …"),
    )
    warmth = forms.TypedChoiceField(
        label=_("Engine"),
        choices=[("", _("warm or cold")), *Warmth.choices],
        coerce=Warmth,
        empty_value=None,
        required=False,
    )
    minimum = figure_field(_("At least"), least=None)
    maximum = figure_field(
        _("At most"), least=None, help_text=_("Leak-down: per cent. Fluid loss: in an hour of running.")
    )
    unit = forms.TypedChoiceField(
        label=_("Unit"),
        choices=_limit_units,
        coerce=as_unit,
        empty_value=None,
        required=False,
    )
    most_spread = figure_field(
        _("Cylinders apart, at most"), help_text=_("Compression: per cent of the highest cylinder.")
    )
    loss = figure_field(_("May lose"), help_text=_("Gearcase pressure and vacuum."))
    loss_minutes = figure_field(_("In minutes"))
    note = LineField(
        label=_("What to mind"), max_length=200, required=False, help_text=_("Test pressure, throttle open …")
    )
    page = page_field()

    def as_input(self) -> LimitInput:
        """What the action needs."""
        return LimitInput(**_typed(self))

    @classmethod
    def values_of(cls, row: Any) -> Mapping[str, Any]:
        """A row's values by the names of the form's fields; what is not picked is nothing."""
        values = super().values_of(row)
        return {**values, "warmth": values["warmth"] or None, "unit": values["unit"] or None}


class IntervalForm(ValueForm):
    """What is done how often."""

    kind_of_value = "interval"
    makes = IntervalInput
    what = LineField(label=_("What is done"), max_length=160)
    hours = count_field(_("Every hours"), most=MOST_HOURS)
    months = count_field(_("Every months"), most=MOST_MONTHS, help_text=_("Whichever comes first."))
    page = page_field()

    def as_input(self) -> IntervalInput:
        """What the action needs."""
        typed = _typed(self)
        return IntervalInput(**typed | {name: as_count(typed[name]) for name in ("hours", "months")})


class FaultForm(ValueForm):
    """What often goes wrong."""

    kind_of_value = "fault"
    makes = FaultInput
    text = StoryField(label=_("What goes wrong, and what to look at first"), max_length=2000)
    page = page_field()

    def as_input(self) -> FaultInput:
        """What the action needs."""
        return FaultInput(**_typed(self))


class BulletinForm(ValueForm):
    """A bulletin of the maker."""

    kind_of_value = "bulletin"
    makes = BulletinInput
    number = LineField(label=_("Number of the bulletin"), max_length=40)
    text = StoryField(label=_("What it says"), max_length=2000)
    serial_from = LineField(
        label=_("From serial"), max_length=60, required=False, help_text=_("Empty: from the first.")
    )
    serial_to = LineField(
        label=_("To serial"), max_length=60, required=False, help_text=_("Empty: to the last.")
    )
    page = page_field()

    def as_input(self) -> BulletinInput:
        """What the action needs."""
        return BulletinInput(**_typed(self))


def _typed(form: ValueForm) -> dict[str, Any]:
    return {name: value for name, value in form.cleaned_data.items() if name != "version"}

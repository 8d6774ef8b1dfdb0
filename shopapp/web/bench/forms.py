"""Forms of what is logged at the bench: shown on the tablet, and checking what the tablet sent."""

from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.actuals import LogFluidInput, LogTimeInput, UsePartInput
from shopapp.actions.clocks import ClockOffInput, ClockOnInput
from shopapp.actions.entry_deeds import Deed, PlannedInput, UndoInput
from shopapp.actions.notes import LONGEST_NOTE, NoteInput
from shopapp.calc.units import FACTS, millilitres
from shopapp.calc.units import Unit as Measure
from shopapp.models import CLOCKED, ShopTime, TimeKind
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.log_forms import LookField, PartFields, SpentFields
from shopapp.web.shared.test_forms import RunForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField

MOST_ML = 200_000
MEASURES = (
    *(Measure.MILLILITRE, Measure.LITRE, Measure.US_FLUID_OUNCE, Measure.US_PINT, Measure.US_QUART),
    *(Measure.US_GALLON, Measure.IMPERIAL_FLUID_OUNCE, Measure.IMPERIAL_QUART, Measure.IMPERIAL_GALLON),
)
VOLUMES = [(unit.value, FACTS[unit].symbol) for unit in MEASURES]


class EntryForm(ShopForm):
    """What the forms of all kinds of entries share: the kind, which also begins their ids."""

    kind: ClassVar[str]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", f"{self.kind}_%s")
        super().__init__(*args, **kwargs)

    def as_input(self) -> Deed | UndoInput:
        """What the action of this kind takes. Raises BadInput for a measure it can't be turned into."""
        raise NotImplementedError


class _PlanField(forms.IntegerField):
    """The planned line that was meant, by its id; the page offers those of the job."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=1, max_value=2_000_000_000, label=_("Used as planned"), **kwargs)


class PartForm(PartFields, EntryForm):
    """A part that went into the boat."""

    field_order = ("line", "number", "description", "condition", "quantity", "unit")
    kind = "part"
    line = _PlanField(required=False)
    number = LineField(label=_("Part number"), max_length=40, required=False)
    description = LineField(label=_("Or what it is"), max_length=200, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not (cleaned.get("line") or cleaned.get("description") or cleaned.get("number")):
            self.add_error("description", _("Say which part it was, or pick it from the plan."))
        return cleaned

    def as_input(self) -> UsePartInput:
        data = self.cleaned_data
        return UsePartInput(
            quantity=data["quantity"],
            description=data["description"],
            number=data["number"],
            unit=data["unit"],
            condition=data["condition"],
            line=data["line"],
        )


class PlannedForm(EntryForm):
    """One tap: so much of a planned part or fee was used as planned."""

    kind = "planned"
    line = _PlanField()
    quantity = NumberField(
        label=_("How many"),
        decimals=3,
        least=Decimal("0.001"),
        most=Decimal(10_000),
        widget=forms.HiddenInput,
    )

    def as_input(self) -> PlannedInput:
        return PlannedInput(line=self.cleaned_data["line"], quantity=self.cleaned_data["quantity"])


class TimeForm(SpentFields, EntryForm):
    """Hours and minutes of the person who logs them."""

    field_order = ("line", "work", "hours", "minutes")
    kind = "time"
    line = _PlanField(required=False)
    work = forms.TypedChoiceField(
        label=_("What on?"), choices=TimeKind, coerce=TimeKind, initial=TimeKind.REPAIR
    )

    def as_input(self) -> LogTimeInput:
        return LogTimeInput(
            minutes=self.total, kind=self.cleaned_data["work"], line=self.cleaned_data["line"]
        )


class FluidForm(LookField, EntryForm):
    """A fluid drained and filled, in any measure of volume."""

    field_order = ("line", "point", "product", "drained", "condition", "filled", "measure", "container")
    kind = "fluid"
    line = _PlanField(required=False)
    point = LineField(
        label=_("Where"), max_length=60, help_text=_("For example: gearcase, engine, fuel tank.")
    )
    product = LineField(label=_("Fluid"), max_length=120, required=False)
    drained = NumberField(label=_("Drained"), decimals=3, least=Decimal(0), required=False)
    filled = NumberField(label=_("Filled"), decimals=3, least=Decimal(0), required=False)
    measure = forms.TypedChoiceField(
        label=_("Measured in"), choices=VOLUMES, coerce=Measure, initial=Measure.MILLILITRE
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.errors:
            return cleaned
        if not cleaned["line"] and not cleaned["product"]:
            self.add_error("product", _("Say which fluid it was, or pick it from the plan."))
        self._measure_amounts(cleaned)
        return cleaned

    def _measure_amounts(self, cleaned: dict[str, Any]) -> None:
        for name in ("drained", "filled"):
            cleaned[f"{name}_ml"] = millilitres(cleaned[name] or Decimal(0), unit=cleaned["measure"])
            if cleaned[f"{name}_ml"] > MOST_ML:
                self.add_error(name, _("Give at most 200 litres."))
        self.check_amounts(drained=cleaned["drained_ml"], filled=cleaned["filled_ml"], at="filled")

    def as_input(self) -> LogFluidInput:
        data = self.cleaned_data
        return LogFluidInput(
            point=data["point"],
            product=data["product"],
            drained_ml=data["drained_ml"],
            filled_ml=data["filled_ml"],
            condition=data["condition"],
            line=data["line"],
            container=data["container"],
        )


class NoteForm(EntryForm):
    """A note, typed or spoken into the tablet's own keyboard."""

    kind = "note"
    text = ParagraphsField(label=_("Note"), max_length=LONGEST_NOTE)

    def as_input(self) -> NoteInput:
        return NoteInput(text=self.cleaned_data["text"])


class PhotoForm(EntryForm):
    """What a photo shows; the picture itself travels beside the entry."""

    kind = "photo"
    caption = LineField(label=_("What it shows"), max_length=200, required=False)
    sha256 = forms.RegexField(r"^[0-9a-f]{64}$", widget=forms.HiddenInput)


class TestForm(RunForm, EntryForm):
    """The test of a job, also at the dock."""

    __test__ = False
    kind = "test"


class UndoForm(EntryForm):
    """Another entry of the same person, taken back."""

    kind = "undo"
    entry = forms.UUIDField(widget=forms.HiddenInput)

    def as_input(self) -> UndoInput:
        return UndoInput(entry=self.cleaned_data["entry"])


class ClockOnForm(EntryForm):
    """Somebody begins on a job, or on something else of the shop's."""

    kind = "clock_on"
    mark = forms.UUIDField(widget=forms.HiddenInput)
    work = forms.ChoiceField(label=_("What on?"), choices=CLOCKED, initial=TimeKind.REPAIR)
    line = _PlanField(required=False)

    def as_input(self) -> ClockOnInput:
        work = self.cleaned_data["work"]
        return ClockOnInput(
            mark=self.cleaned_data["mark"],
            kind=ShopTime(work) if work in ShopTime.values else TimeKind(work),
            line=self.cleaned_data["line"],
        )


class ClockOffForm(EntryForm):
    """Somebody ends what they began under this mark."""

    kind = "clock_off"
    mark = forms.UUIDField(widget=forms.HiddenInput)

    def as_input(self) -> ClockOffInput:
        return ClockOffInput(mark=self.cleaned_data["mark"])

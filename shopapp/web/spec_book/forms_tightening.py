"""The form of a joint: its pattern, its order, its stages, and what its fasteners are."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.tightening_specs import MOST_STAGES, StageInput, TighteningInput
from shopapp.calc.errors import BadInput
from shopapp.calc.patterns import MOST_FASTENERS
from shopapp.calc.tightening import PROOF_STRESS, Fastener, FastenerKind, Surface
from shopapp.calc.units import Unit, units_like
from shopapp.models import PatternKind, StageKind, TighteningSpec
from shopapp.queries.figures import figure
from shopapp.web.shared.forms import NumberField
from shopapp.web.shared.text_fields import LineField
from shopapp.web.spec_book.fields import page_field, unit_choices
from shopapp.web.spec_book.forms_values import ValueForm

_NUMBERS = re.compile(r"\d{1,2}(?:[\s,;.→>-]+\d{1,2})*", re.ASCII)
FASTENERS = {
    FastenerKind.BOLT: _("bolt"),
    FastenerKind.STUD: _("stud"),
    FastenerKind.PLUG: _("plug"),
    FastenerKind.IN_CASTING: _("in a thread of the casting"),
}
SURFACES = {
    Surface.ZINC: _("zinc"),
    Surface.BLACK: _("black, dry"),
    Surface.LUBRICATED: _("oiled"),
    Surface.ANTI_SEIZE: _("anti-seize"),
    Surface.CADMIUM: _("cadmium"),
}
STAGE_NUMBERS = tuple(range(1, MOST_STAGES + 1))


def _torques() -> list[tuple[str, Any]]:
    """Asked for by the first form, since what knows the units is slow to load."""
    return unit_choices(units_like(Unit.NEWTON_METRE))


class TighteningForm(ValueForm):
    """A joint. Its stages are pairs of fields, ``stage_1_kind`` and ``stage_1_value`` and so on."""

    kind_of_value = "tightening"
    makes = TighteningInput
    joint = LineField(
        label=_("Joint"), max_length=120, help_text=_("Cylinder head, carrier, plug of the sump …")
    )
    pattern = forms.TypedChoiceField(
        label=_("How the fasteners stand"), choices=PatternKind, coerce=PatternKind
    )
    columns_count = NumberField(
        label=_("Fasteners, or columns"), decimals=0, least=Decimal(1), most=Decimal(MOST_FASTENERS)
    )
    rows_count = NumberField(
        label=_("Rows"), decimals=0, least=Decimal(1), most=Decimal(MOST_FASTENERS), initial=Decimal(1)
    )
    sequence = LineField(
        label=_("The maker's own order"),
        max_length=200,
        required=False,
        help_text=_("Numbers of the fasteners, such as 1, 4, 2, 5, 3, 6. Empty: from the middle, crossing."),
    )
    unit = forms.TypedChoiceField(label=_("Unit of the torque"), choices=_torques, coerce=Unit)
    check_goes_round = forms.BooleanField(label=_("The check goes round by the numbers"), required=False)
    is_one_time = forms.BooleanField(label=_("New fasteners each time"), required=False)
    treatment = LineField(
        label=_("Thread"), max_length=120, required=False, help_text=_("Dry, oiled, locking compound …")
    )
    diameter = NumberField(
        label=_("Diameter"), decimals=2, least=Decimal(1), most=Decimal(64), required=False
    )
    pitch = NumberField(label=_("Pitch"), decimals=2, least=Decimal("0.2"), most=Decimal(6), required=False)
    property_class = forms.ChoiceField(
        label=_("Class"), choices=[("", "–"), *((one, one) for one in PROOF_STRESS)], required=False
    )
    fastener = forms.TypedChoiceField(
        label=_("What it is"),
        choices=[(one.value, word) for one, word in FASTENERS.items()],
        coerce=FastenerKind,
        required=False,
        empty_value=FastenerKind.BOLT,
    )
    surface = forms.TypedChoiceField(
        label=_("Surface"),
        choices=[(one.value, word) for one, word in SURFACES.items()],
        coerce=Surface,
        required=False,
        empty_value=Surface.ZINC,
    )
    is_looked_up = forms.BooleanField(label=_("I looked again: it stands so in the manual"), required=False)
    page = page_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        first, more = [("torque", _("to a torque"))], [("", "–"), *StageKind.choices]
        for number in STAGE_NUMBERS:
            self.fields[f"stage_{number}_kind"] = forms.ChoiceField(
                label=_("Stage %(number)s") % {"number": number},
                choices=first if number == 1 else more,
                initial="torque" if number == 1 else "",
                required=number == 1,
            )
            self.fields[f"stage_{number}_value"] = NumberField(
                label=_("Torque or degrees of stage %(number)s") % {"number": number},
                decimals=4,
                least=Decimal(0),
                most=Decimal(100_000),
                required=number == 1,
            )
            value = self.fields[f"stage_{number}_value"]
            value.locale = self.fields["diameter"].locale  # type: ignore[attr-defined]  # fields of numbers

    @property
    def stages(self) -> list[tuple[Any, Any]]:
        """The fields of each stage, for the page."""
        return [(self[f"stage_{number}_kind"], self[f"stage_{number}_value"]) for number in STAGE_NUMBERS]

    def clean_sequence(self) -> str:
        """The numbers in one way of writing, whatever parted them."""
        typed: str = self.cleaned_data["sequence"]
        if typed and not _NUMBERS.fullmatch(typed):
            raise forms.ValidationError(_("Write the numbers of the fasteners, such as 1, 4, 2, 5, 3, 6."))
        return ", ".join(_numbers(typed))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self._require_whole_stages()
        self._require_whole_fastener()
        if not self.errors:
            self._ask_about_the_torque()
        return cleaned

    def _require_whole_stages(self) -> None:
        has_ended = False
        for number in STAGE_NUMBERS:
            kind, value = self._stage(number)
            names = (f"stage_{number}_kind", f"stage_{number}_value")
            if any(name in self.errors for name in names):
                continue
            if has_ended and (kind or value is not None):
                self.add_error(names[0], _("Leave no stage empty between others."))
            if kind and value is None:
                self.add_error(names[1], _("Give the torque or the degrees."))
            if value is not None and not kind:
                self.add_error(names[0], _("Say what is done in this stage."))
            has_ended = not kind

    def _require_whole_fastener(self) -> None:
        names = ("diameter", "pitch", "property_class")
        given = [name for name in names if self.cleaned_data.get(name)]
        for name in names:
            if given and name not in given and name not in self.errors:
                self.add_error(
                    name, _("Diameter, pitch and class go together; without them nothing is asked.")
                )

    def _ask_about_the_torque(self) -> None:
        try:
            question = self.as_input().question()
        except BadInput as error:
            self.add_error(None, str(error))
            return
        if question and not self.cleaned_data["is_looked_up"]:
            self.add_error("is_looked_up", question)

    def _stage(self, number: int) -> tuple[str, Decimal | None]:
        cleaned = self.cleaned_data
        return cleaned.get(f"stage_{number}_kind", ""), cleaned.get(f"stage_{number}_value")

    def as_input(self) -> TighteningInput:
        """What the action needs."""
        cleaned = self.cleaned_data
        same = ("joint", "pattern", "is_one_time", "treatment", "is_looked_up", "page")
        return TighteningInput(
            **{name: cleaned[name] for name in same},
            columns_count=int(cleaned["columns_count"]),
            rows_count=int(cleaned["rows_count"]),
            sequence=tuple(int(one) for one in _numbers(cleaned["sequence"])),
            stages=tuple(self._stages()),
            fastener=self._fastener(),
        )

    def _stages(self) -> list[StageInput]:
        stages = []
        for kind, value in map(self._stage, STAGE_NUMBERS):
            if kind and value is not None:
                known = StageKind(kind)
                stages.append(
                    StageInput(
                        kind=known,
                        value=value,
                        unit=None if known == StageKind.ANGLE else self.cleaned_data["unit"],
                        goes_round=known == StageKind.CHECK and self.cleaned_data["check_goes_round"],
                    )
                )
        return stages

    def _fastener(self) -> Fastener | None:
        cleaned = self.cleaned_data
        if not cleaned.get("diameter"):
            return None
        return Fastener(
            diameter=float(cleaned["diameter"]),
            pitch=float(cleaned["pitch"]),
            property_class=cleaned["property_class"],
            kind=cleaned["fastener"],
            surface=cleaned["surface"],
        )

    @classmethod
    def values_of(cls, row: TighteningSpec) -> Mapping[str, Any]:
        """A joint's values by the names of the form's fields. One query."""
        stages = list(row.stages.order_by("position"))
        values: dict[str, Any] = {
            name: getattr(row, name)
            for name in ("joint", "is_one_time", "treatment", "property_class", "is_looked_up", "page")
        }
        values |= {
            "pattern": PatternKind(row.pattern),
            "columns_count": Decimal(row.columns),
            "rows_count": Decimal(row.rows),
            "sequence": ", ".join(str(one) for one in row.sequence),
            "unit": next((Unit(one.unit) for one in stages if one.unit), Unit.NEWTON_METRE),
            "check_goes_round": any(one.goes_round for one in stages),
            "diameter": None if row.diameter_e4 is None else figure(row.diameter_e4),
            "pitch": None if row.pitch_e4 is None else figure(row.pitch_e4),
            "fastener": FastenerKind(row.fastener or FastenerKind.BOLT),
            "surface": Surface(row.surface or Surface.ZINC),
        }
        for number in STAGE_NUMBERS:
            stage = stages[number - 1] if number <= len(stages) else None
            values[f"stage_{number}_kind"] = stage.kind if stage is not None else ""
            values[f"stage_{number}_value"] = figure(stage.value_e4) if stage is not None else None
        return values


def _numbers(text: str) -> list[str]:
    return re.findall(r"\d+", text, re.ASCII)

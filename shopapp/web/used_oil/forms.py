"""Forms of the used-oil log: a container, what went in, what was handed over, and a period to export."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.waste import ContainerInput, HandOverInput, PutInInput
from shopapp.calc.units import FACTS, millilitres
from shopapp.calc.units import Unit as Measure
from shopapp.models import WasteKind
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.moments import MomentField
from shopapp.web.shared.text_fields import LineField

MEASURES = (
    *(Measure.LITRE, Measure.MILLILITRE, Measure.US_QUART, Measure.US_GALLON, Measure.IMPERIAL_GALLON),
)
VOLUMES = [(unit.value, FACTS[unit].symbol) for unit in MEASURES]
# above any drum or tank of a shop, in whatever unit
MOST = Decimal(20_000)


class VolumeForm(ShopForm):
    """An amount in a unit of volume; ``ml`` once it is right."""

    volume = NumberField(label=_("How much"), decimals=3, least=Decimal("0.001"), most=MOST)
    measure = forms.TypedChoiceField(
        label=_("Measured in"), choices=VOLUMES, coerce=Measure, initial=Measure.LITRE
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors:
            self.ml = millilitres(cleaned["volume"], unit=cleaned["measure"])
        return cleaned


class ContainerForm(VolumeForm):
    """A container as it is taken into use."""

    field_order = ("name", "kind", "volume", "measure")
    name = LineField(label=_("What stands on its label"), max_length=60)
    kind = forms.TypedChoiceField(
        label=_("What goes in, and nothing else"),
        choices=[("", "–"), *WasteKind.choices],
        coerce=WasteKind,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["volume"].label = _("How much it holds")

    def as_input(self) -> ContainerInput:
        return ContainerInput(name=self.cleaned_data["name"], kind=self.cleaned_data["kind"], size_ml=self.ml)


class PutInForm(VolumeForm):
    """What somebody poured in by hand, and what kind it is: nothing is picked beforehand."""

    field_order = ("what", "kind", "volume", "measure")
    what = LineField(label=_("What it was, or where it came from"), max_length=120)
    kind = forms.TypedChoiceField(
        label=_("What is it?"), choices=[("", "–"), *WasteKind.choices], coerce=WasteKind
    )

    def as_input(self) -> PutInInput:
        return PutInInput(volume_ml=self.ml, kind=self.cleaned_data["kind"], what=self.cleaned_data["what"])


class HandOverForm(VolumeForm):
    """What a collector took, and when."""

    field_order = ("collector", "volume", "measure", "taken_at", "paper_number")
    collector = LineField(label=_("Who took it away?"), max_length=120)
    taken_at = MomentField(label=_("When?"))
    paper_number = LineField(label=_("Number of the paper"), max_length=60, required=False)

    def __init__(self, *args: Any, zone: ZoneInfo, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["taken_at"]
        field.zone, field.now = zone, now  # type: ignore[attr-defined]  # a field of moments

    def as_input(self) -> HandOverInput:
        data = self.cleaned_data
        return HandOverInput(
            volume_ml=self.ml,
            collector=data["collector"],
            taken_at=data["taken_at"],
            paper_number=data["paper_number"],
        )


class StrikeForm(ShopForm):
    """Why a row counts no more."""

    reason = LineField(label=_("Why is it struck out?"), max_length=200)


class PeriodForm(forms.Form):
    """From one day of the shop to another, both included; an empty bound is open."""

    from_date = forms.DateField(required=False)
    to_date = forms.DateField(required=False)

    @property
    def period(self) -> tuple[date | None, date | None]:
        """The bounds that are days."""
        self.is_valid()
        return self.cleaned_data.get("from_date"), self.cleaned_data.get("to_date")

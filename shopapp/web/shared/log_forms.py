"""What the forms of the desk and of the bench ask alike when a part, hours or a fluid is logged."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.actuals import MINUTES_A_DAY
from shopapp.models import FluidCondition, PartCondition, Unit
from shopapp.web.shared.forms import NumberField, ShopForm

# nothing is picked beforehand: a look that nobody took must not stand in the book
LOOKS = [choice for choice in FluidCondition.choices if choice[0] != FluidCondition.NOT_DRAINED]


class PartFields(ShopForm):
    """What kind of part, and how many."""

    condition = forms.TypedChoiceField(
        label=_("What kind of part?"),
        choices=[("", _("new, or as listed")), *PartCondition.choices[1:]],
        coerce=PartCondition,
        empty_value=None,
        required=False,
    )
    quantity = NumberField(
        label=_("How many"), decimals=3, least=Decimal("0.001"), most=Decimal(10_000), initial=Decimal(1)
    )
    unit = forms.TypedChoiceField(label=_("Unit"), choices=Unit, coerce=Unit, initial=Unit.EACH)


class SpentFields(ShopForm):
    """Hours and minutes; ``total`` in minutes, once they are right."""

    hours = NumberField(label=_("Hours"), decimals=0, least=Decimal(0), most=Decimal(24), required=False)
    minutes = NumberField(label=_("Minutes"), decimals=0, least=Decimal(0), most=Decimal(59), required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if "hours" not in self.errors and "minutes" not in self.errors:
            self.total = int(cleaned["hours"] or 0) * 60 + int(cleaned["minutes"] or 0)
            if not 0 < self.total <= MINUTES_A_DAY:
                self.add_error("hours", _("Give a time above 0 and of at most 24 hours."))
        return cleaned


class ContainerField(forms.RegexField):
    """The container that the old fluid went into, as the page offers it: ``3: Oil drum`` → 3.

    The name is for whoever reads the entry; the number counts.
    """

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(r"^[1-9]\d{0,8}(: .*)?$", max_length=80, required=False, **kwargs)

    def clean(self, value: Any) -> int | None:
        text: str = super().clean(value)
        return int(text.partition(":")[0]) if text else None


class LookField(ShopForm):
    """What the old fluid looked like, which whoever drained some has to say, and where it went."""

    condition = forms.TypedChoiceField(
        label=_("What did the old fluid look like?"),
        choices=[("", "–"), *LOOKS],
        coerce=FluidCondition,
        empty_value=FluidCondition.NOT_DRAINED,
        required=False,
    )

    container = ContainerField(label=_("Which container did the old fluid go into?"))

    def check_amounts(self, *, drained: Any, filled: Any, at: str) -> None:
        """Something was drained or filled, and what was drained was looked at; else the sentences say so."""
        if not drained and not filled:
            self.add_error(at, _("Give what was drained, what was filled, or both."))
        if drained and self.cleaned_data["condition"] == FluidCondition.NOT_DRAINED:
            self.add_error("condition", _("Say what the drained fluid looked like."))
        if self.cleaned_data.get("container") and not drained:
            self.add_error("drained_ml" if at == "filled_ml" else "drained", _("Say how much was drained."))

"""Forms of the quotes room: the words of an option, and a line with the defaults of its kind."""

from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.http import QueryDict
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shopapp.actions.quote_drafts import LineInput, OptionInput
from shopapp.actions.quote_terms import DiscountInput
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_e4, from_milli
from shopapp.models import (
    LineKind,
    Part,
    PartCondition,
    Payer,
    PriceKind,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Unit,
    Way,
)
from shopapp.queries.parts import part_by_number
from shopapp.queries.prices import extra_price, usual_labour_price
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.text_fields import LineField, StoryField

USUAL_UNITS = {LineKind.LABOUR: Unit.HOUR, LineKind.FLUID: Unit.LITRE}
HUNDRED = Decimal(100)


class JobsField(forms.MultipleChoiceField):
    """Ids of jobs with a tick; which jobs they are is for the action to say."""

    def valid_value(self, value: str) -> bool:
        return value.isascii() and value.isdigit() and len(value) < 10

    def to_python(self, value: Any) -> list[Any]:
        return list(dict.fromkeys(super().to_python(value)))


class ChosenJobsForm(ShopForm):
    """The jobs with a tick."""

    job = JobsField(label=_("Jobs"))


def chosen_jobs(data: QueryDict) -> list[int]:
    """The ids of the jobs with a tick. Raises BadInput when there are none."""
    form = ChosenJobsForm(data)
    if not form.is_valid():
        raise BadInput(gettext("jobs"), "", gettext("at least one job with a tick"))
    return [int(text) for text in form.cleaned_data["job"]]


class ChosenJobForm(ShopForm):
    """One job, by its id."""

    job = forms.IntegerField(min_value=1, max_value=2_000_000_000)


class AddOptionForm(ShopForm):
    """Which way of putting it right comes next; its words follow on the next page."""

    way = forms.ChoiceField(label=_("Way of putting it right"), choices=Way.choices)

    def offer(self, ways: Collection[str]) -> None:
        """Offer only these ways."""
        field = cast("forms.ChoiceField", self.fields["way"])
        field.choices = [(way.value, way.label) for way in Way if way.value in ways]

    def as_input(self) -> OptionInput:
        """An option named for its way."""
        way = Way(self.cleaned_data["way"])
        return OptionInput(way=way, title=str(way.label))


class OptionForm(VersionedForm):
    """An option in words that the customer understands."""

    way = forms.ChoiceField(label=_("Way of putting it right"), choices=Way.choices)
    title = LineField(
        label=_("Title"), max_length=80, help_text=_("A few plain words: New seals on the old shaft.")
    )
    explanation = StoryField(
        label=_("What is done and why"),
        max_length=1000,
        required=False,
        help_text=_("As you would tell it at the counter."),
    )
    left_out = StoryField(
        label=_("What is left out"),
        max_length=1000,
        required=False,
        help_text=_("What somebody might expect and does not get."),
    )
    days = NumberField(label=_("Days without the boat"), decimals=0, least=Decimal(0), most=Decimal(365))
    warranty_months = NumberField(
        label=_("Warranty"), decimals=0, least=Decimal(0), most=Decimal(120), help_text=_("0: none.")
    )
    warranty_covers = LineField(label=_("What the warranty covers"), max_length=200, required=False)

    def as_input(self) -> OptionInput:
        """What the action needs."""
        typed = self.cleaned_data
        return OptionInput(
            way=Way(typed["way"]),
            title=typed["title"],
            explanation=typed["explanation"],
            left_out=typed["left_out"],
            days=int(typed["days"]),
            warranty_months=int(typed["warranty_months"]),
            warranty_covers=typed["warranty_covers"],
        )


def option_values(row: QuoteOption) -> Mapping[str, Any]:
    """An option's values by the names of the form's fields."""
    texts = ("way", "title", "explanation", "left_out", "warranty_covers")
    numbers = {"days": Decimal(row.days), "warranty_months": Decimal(row.warranty_months)}
    return {name: getattr(row, name) for name in texts} | numbers


class LineForm(ShopForm):
    """A line. What is left empty follows from its kind: the unit, and the price where the shop has a rule.

    A number of the shop's list of parts fills what is left empty: description, unit, condition, price.

    The cost is there for the owner only; from anybody else the field does not exist.
    """

    kind = forms.ChoiceField(label=_("Kind"), choices=LineKind.choices)
    description = LineField(label=_("Description"), max_length=200, required=False)
    quantity = NumberField(label=_("Quantity"), decimals=3, least=Decimal("0.001"), most=Decimal(10_000))
    unit = forms.ChoiceField(label=_("Unit"), choices=[("", _("usual")), *Unit.choices], required=False)
    unit_price = NumberField(label=_("Price"), decimals=4, least=Decimal(0), required=False)
    number = LineField(
        label=_("Part number"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"list": "known-parts", "autocomplete": "off"}),
    )
    condition = forms.ChoiceField(label=_("Condition"), choices=PartCondition.choices, required=False)
    discount = NumberField(label=_("Discount"), decimals=2, least=Decimal(0), most=HUNDRED, required=False)
    payer = forms.ChoiceField(label=_("Who pays"), choices=Payer.choices, required=False)
    unit_cost = NumberField(
        label=_("Cost"),
        decimals=4,
        least=Decimal(0),
        required=False,
        help_text=_("For you alone. With a cost and no price, the price follows from the markup."),
    )

    def __init__(self, *args: Any, sees_costs: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not sees_costs:
            del self.fields["unit_cost"]
        self.fields["number"].widget.attrs |= {
            "hx-get": reverse("quotes:known_parts"),
            "hx-trigger": "input changed delay:200ms",
            "hx-target": "#known-parts",
            "hx-swap": "innerHTML",
            # of its own, or a form that is sent meanwhile would be dropped
            "hx-sync": "this:replace",
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        part = self._known_part(cleaned)
        if part is not None:
            cleaned |= {name: value for name, value in _of_part(part).items() if not cleaned.get(name)}
        if "description" not in self.errors and not cleaned.get("description"):
            self.add_error("description", _("Description is missing. Please fill it in."))
        if "unit_price" not in self.errors and cleaned.get("unit_price") is None:
            cleaned["unit_price"] = self._usual_price(cleaned, part=part)
            if cleaned["unit_price"] is None:
                self.add_error("unit_price", _("The price is missing. Please fill it in."))
        if "discount" not in self.errors:
            cleaned["discount"] = cleaned.get("discount") or Decimal(0)
        return cleaned

    def _known_part(self, cleaned: Mapping[str, Any]) -> Part | None:
        number = cleaned.get("number")
        return part_by_number(number) if number and cleaned.get("kind") == LineKind.PART else None

    def _usual_price(self, cleaned: Mapping[str, Any], *, part: Part | None) -> Decimal | None:
        if cleaned.get("kind") == LineKind.LABOUR:
            price_e4 = usual_labour_price()["unit_price_e4"]
        elif cleaned.get("condition") == PartCondition.CUSTOMERS_OWN:
            price_e4 = 0
        elif part is not None and part.unit_price_e4 is not None:
            price_e4 = part.unit_price_e4
        else:
            known = part.unit_cost_e4 if part is not None else None
            cost = from_e4(known) if known is not None else None
            price_e4 = extra_price(cleaned.get("unit_cost") or cost)["unit_price_e4"]
        return from_e4(price_e4) if price_e4 is not None else None

    def as_input(self) -> LineInput:
        """What the action needs."""
        typed = self.cleaned_data
        kind = LineKind(typed["kind"])
        return LineInput(
            kind=kind,
            description=typed["description"],
            quantity=typed["quantity"],
            unit=Unit(typed["unit"] or USUAL_UNITS.get(kind, Unit.EACH)),
            unit_price=typed["unit_price"],
            discount=typed["discount"] / HUNDRED,
            payer=Payer(typed["payer"] or Payer.CUSTOMER),
            number=typed["number"],
            condition=PartCondition(typed["condition"] or PartCondition.NEW),
            unit_cost=typed.get("unit_cost"),
        )


def _of_part(part: Part) -> Mapping[str, str]:
    return {"description": part.description, "unit": part.unit, "condition": part.condition}


class EditLineForm(LineForm, VersionedForm):
    """A line that is there already."""


def line_values(row: QuoteLine, *, sees_costs: bool) -> Mapping[str, Any]:
    """A line's values by the names of the form's fields; the cost for the owner only."""
    texts = ("kind", "description", "unit", "number", "condition", "payer")
    values: dict[str, Any] = {name: getattr(row, name) for name in texts}
    values |= {
        "quantity": from_milli(row.quantity_milli),
        "unit_price": from_e4(row.unit_price_e4),
        "discount": Decimal(row.discount_e4) / HUNDRED,
    }
    if sees_costs:
        values["unit_cost"] = from_e4(row.unit_cost_e4) if row.unit_cost_e4 is not None else None
    return values


class RemoveForm(ShopForm):
    """Which version was looked at by whoever removes it, on the page of the form that edits it."""

    seen_version = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=2_000_000_000)


class PriceKindForm(ShopForm):
    """How a job is billed."""

    price_kind = forms.ChoiceField(label=_("How it is billed"), choices=PriceKind.choices)


class DiscountForm(VersionedForm):
    """A share off the whole of what is chosen."""

    share = NumberField(
        label=_("Discount"), decimals=2, least=Decimal(0), most=HUNDRED, help_text=_("0: none.")
    )
    reason = LineField(
        label=_("Reason"), max_length=200, required=False, help_text=_("The customer reads it on the quote.")
    )

    def as_input(self) -> DiscountInput:
        """What the action needs."""
        typed = self.cleaned_data
        return DiscountInput(share=typed["share"] / HUNDRED, reason=typed["reason"])


def discount_values(row: QuoteRevision) -> Mapping[str, Any]:
    """A revision's discount by the names of the form's fields."""
    return {"share": Decimal(row.discount_e4) / HUNDRED, "reason": row.discount_reason}


class SendForm(VersionedForm):
    """Which version of the draft is sent, and the hash of the preview that was looked at."""

    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)

"""Forms by which a part, hours or a fluid is logged on a job."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.urls import reverse_lazy
from django.utils.translation import gettext_lazy as _

from shopapp.actions.actuals import LogFluidInput, LogTimeInput, UsePartInput
from shopapp.models import LineKind, TimeKind
from shopapp.queries.job_pages import WorkPage
from shopapp.queries.open_points import PlannedLine
from shopapp.web.shared.forms import NumberField
from shopapp.web.shared.log_forms import LookField, PartFields, SpentFields
from shopapp.web.shared.text_fields import LineField
from shopapp.web.work_orders.forms import PageForm, offer
from shopapp.web.work_orders.forms_rows import line_words

MOST_ML = Decimal(200_000)
# the parts list answers while somebody types; without a script the field is a plain one
SUGGESTED = {
    "autocomplete": "off",
    "spellcheck": "false",
    "hx-get": reverse_lazy("parts:suggestions"),
    "hx-trigger": "input changed delay:200ms",
    "hx-sync": "this:replace",
}


class LogForm(PageForm):
    """What the three forms of the actual book share: the plan line that was used as planned."""

    kind_of_line: ClassVar[LineKind]
    due: PlannedLine | None = None
    line = forms.TypedChoiceField(
        label=_("Used as planned"),
        coerce=int,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, page: WorkPage, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        self._offer_plan([line for line in page.planned if line.kind == self.kind_of_line], locale=locale)
        if not page.is_desk and "unit_cost" in self.fields:
            del self.fields["unit_cost"]

    def _offer_plan(self, planned: Sequence[PlannedLine], *, locale: str) -> None:
        """The plan's lines to pick from; the first that is not used up is picked already."""
        if not planned:
            del self.fields["line"]
            return
        choices = [(line.pk, line_words(line, locale=locale)) for line in planned]
        offer(self, "line", [*choices, ("", _("Not on the plan"))])
        self.due = next((line for line in planned if not line.is_used), None) or self._still(planned)
        self.initial.setdefault("line", self.due.pk if self.due is not None else "")

    def _still(self, planned: Sequence[PlannedLine]) -> PlannedLine | None:
        """What is picked once everything is used up: nothing."""
        return None

    @property
    def picked(self) -> int | None:
        """The plan line that was picked, if there was one to pick."""
        line: int | None = self.cleaned_data.get("line")
        return line


class UsePartForm(PartFields, LogForm):
    """A part that went into the boat."""

    field_order = ("line", "number", "description", "condition", "quantity", "unit", "unit_cost")
    ids = "part"
    kind_of_line = LineKind.PART
    number = LineField(
        label=_("Part number"),
        max_length=40,
        required=False,
        help_text=_("One of the two is enough."),
        widget=forms.TextInput(attrs=SUGGESTED | {"list": "part-numbers", "hx-target": "#part-numbers"}),
    )
    description = LineField(label=_("Or what it is"), max_length=200, required=False)
    unit_cost = NumberField(
        label=_("What one costs the shop"),
        decimals=4,
        least=Decimal(0),
        required=False,
        help_text=_("Without it the part is not priced yet."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("quantity", self.due.left if self.due is not None else Decimal(1))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        written = cleaned.get("description") or cleaned.get("number")
        if self.picked is None and not written:
            self.add_error("description", _("Say which part it was, or pick it from the plan."))
        if self.picked is not None and written:
            sentence = _(
                "You wrote a part and picked one from the plan. Pick “Not on the plan”, or empty this."
            )
            self.add_error("description", sentence)
        return cleaned

    def as_input(self) -> UsePartInput:
        data = self.cleaned_data
        return UsePartInput(
            quantity=data["quantity"],
            description=data["description"],
            number=data["number"],
            unit=data["unit"],
            condition=data["condition"],
            line=self.picked,
            unit_cost=None if self.picked is not None else data.get("unit_cost"),
        )


class LogTimeForm(SpentFields, LogForm):
    """Hours and minutes of a person."""

    field_order = ("line", "person", "kind", "hours", "minutes")
    ids = "time"
    kind_of_line = LineKind.LABOUR
    person = forms.TypedChoiceField(label=_("Who worked?"), coerce=int)
    kind = forms.TypedChoiceField(label=_("What on?"), choices=TimeKind, coerce=TimeKind)

    def __init__(self, *args: Any, page: WorkPage, **kwargs: Any) -> None:
        super().__init__(*args, page=page, **kwargs)
        if page.is_desk:
            offer(self, "person", [(person.pk, person.name) for person in page.people])
        else:
            del self.fields["person"]

    def _still(self, planned: Sequence[PlannedLine]) -> PlannedLine | None:
        """More hours than planned are still hours of the plan, unless somebody says otherwise."""
        return planned[-1]

    def as_input(self) -> LogTimeInput:
        return LogTimeInput(
            minutes=self.total,
            kind=self.cleaned_data["kind"],
            person=self.cleaned_data.get("person"),
            line=self.picked,
        )


class LogFluidForm(LookField, LogForm):
    """A fluid drained and filled."""

    field_order = (
        *("line", "point", "product", "drained_ml", "condition", "container", "filled_ml", "unit_cost"),
    )
    ids = "fluid"
    kind_of_line = LineKind.FLUID
    point = LineField(
        label=_("Where"),
        max_length=60,
        help_text=_("For example: gearcase, engine, fuel tank."),
        widget=forms.TextInput(attrs={"list": "fluid-points", "autocomplete": "off"}),
    )
    product = LineField(
        label=_("Fluid"),
        max_length=120,
        required=False,
        help_text=_("Its name, or its number on the parts list."),
        widget=forms.TextInput(attrs=SUGGESTED | {"list": "fluid-names", "hx-target": "#fluid-names"}),
    )
    drained_ml = NumberField(
        label=_("Drained, in ml"), decimals=0, least=Decimal(0), most=MOST_ML, required=False
    )
    filled_ml = NumberField(
        label=_("Filled, in ml"), decimals=0, least=Decimal(0), most=MOST_ML, required=False
    )
    unit_cost = NumberField(
        label=_("What a litre costs the shop"),
        decimals=4,
        least=Decimal(0),
        required=False,
        help_text=_("Without it the fluid is not priced yet."),
    )

    def __init__(self, *args: Any, page: WorkPage, **kwargs: Any) -> None:
        super().__init__(*args, page=page, **kwargs)
        if page.offers.containers:
            choices = [(one.value, one.words) for one in page.offers.containers]
            self.fields["container"].widget = forms.Select(choices=[("", "–"), *choices])
        else:
            del self.fields["container"]
        # with nothing planned there is nothing to pick, so it has to be named
        self.fields["product"].required = "line" not in self.fields

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.picked is None and "product" in cleaned and not cleaned["product"]:
            self.add_error("product", _("Say which fluid it was, or pick it from the plan."))
        if not self.errors:
            self.check_amounts(drained=cleaned["drained_ml"], filled=cleaned["filled_ml"], at="filled_ml")
        return cleaned

    def as_input(self) -> LogFluidInput:
        data = self.cleaned_data
        return LogFluidInput(
            point=data["point"],
            product=data["product"],
            drained_ml=int(data["drained_ml"] or 0),
            filled_ml=int(data["filled_ml"] or 0),
            condition=data["condition"],
            line=self.picked,
            unit_cost=None if self.picked is not None else data.get("unit_cost"),
            container=data.get("container"),
        )

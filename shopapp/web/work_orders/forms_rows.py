"""Forms by which a row of the actual book is put right, and fees and bought-in work are logged."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.actions.corrections import PayerInput, PriceInput
from shopapp.actions.fees import FeeInput, log_fee
from shopapp.actions.refusals import Refused
from shopapp.actions.sublets import SubletInput
from shopapp.calc.money import format_number
from shopapp.models import FeeEntry, FeeKind, LineKind, PartUsed, Payer, Unit
from shopapp.queries.charge_pages import ChargesPage, days_as_quantity
from shopapp.queries.job_pages import WorkPage
from shopapp.queries.open_points import ONE_TAP, PlannedLine
from shopapp.queries.row_pages import RowPage
from shopapp.web.shared.forms import NumberField
from shopapp.web.shared.text_fields import LineField
from shopapp.web.work_orders.forms import PageForm, offer


def line_words(line: PlannedLine, *, locale: str) -> str:
    """A planned line as a choice: what, its number, how much."""
    planned = f"{format_number(line.quantity, locale=locale)}\u00a0{line.unit}"
    return " ".join(filter(None, [line.description, line.number, f"({planned})"]))


class PlannedForm(PageForm):
    """One tap: the rest of a planned part or fee was used as planned."""

    ids = "planned"
    line = forms.TypedChoiceField(label=_("Used as planned"), coerce=int, widget=forms.HiddenInput)

    def __init__(self, *args: Any, page: WorkPage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = {line.pk: line for line in page.planned if line.kind in ONE_TAP}
        offer(self, "line", [(pk, line.description) for pk, line in self.lines.items()])

    def deed(self, job_pk: int, *, by: Actor) -> PartUsed | FeeEntry:
        """Log what is left of the line."""
        line = self.lines[self.cleaned_data["line"]]
        if not line.left:
            raise Refused(gettext("All of it is logged already."))
        if line.kind == LineKind.FEE:
            return log_fee(job_pk, FeeInput(quantity=line.left, line=line.pk), by=by)
        return use_part(job_pk, UsePartInput(quantity=line.left, line=line.pk), by=by)


class StrikeForm(PageForm):
    """Why a row is wrong."""

    ids = "strike"
    reason = LineField(label=_("What is wrong with it?"), max_length=200)


class LinkForm(PageForm):
    """Which planned line a row fulfils."""

    ids = "link"
    line = forms.TypedChoiceField(
        label=_("It was used for"), coerce=int, empty_value=None, required=False, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, page: RowPage, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        choices = [(line.pk, line_words(line, locale=locale)) for line in page.plan]
        offer(self, "line", [*choices, ("", _("Not on the plan"))])
        self.initial.setdefault("line", page.plan_line or "")


class PriceForm(PageForm):
    """What one costs, or what it sells for."""

    ids = "price"
    unit_cost = NumberField(
        label=_("What one costs the shop"),
        decimals=4,
        least=Decimal(0),
        required=False,
        help_text=_("The shop's markup gives the price."),
    )
    unit_price = NumberField(label=_("Or what one sells for"), decimals=4, least=Decimal(0), required=False)

    def as_input(self) -> PriceInput:
        return PriceInput(**self.cleaned_data)


class PayerForm(PageForm):
    """Who pays, and why it is not the customer."""

    ids = "payer"
    payer = forms.TypedChoiceField(
        label=_("Who pays it?"), choices=Payer, coerce=Payer, widget=forms.RadioSelect
    )
    payer_reason = LineField(label=_("Why not the customer?"), max_length=200, required=False)

    def as_input(self) -> PayerInput:
        return PayerInput(payer=self.cleaned_data["payer"], reason=self.cleaned_data["payer_reason"])


class OverrideForm(PageForm):
    """The owner bills it although nobody agreed to it; empty takes that back."""

    ids = "override"
    is_on = forms.BooleanField(required=False, widget=forms.HiddenInput)
    override_reason = LineField(label=_("Why is it billed all the same?"), max_length=200, required=False)


class ChargeForm(PageForm):
    """What both forms of the page share: the planned line."""

    kind_of_line: LineKind
    line = forms.TypedChoiceField(
        label=_("As planned"), coerce=int, empty_value=None, required=False, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, page: ChargesPage, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, locale=locale, **kwargs)
        planned = [line for line in page.planned if line.kind == self.kind_of_line]
        if not planned:
            del self.fields["line"]
            return
        choices = [(line.pk, line_words(line, locale=locale)) for line in planned]
        offer(self, "line", [*choices, ("", _("Not on the plan"))])
        due = next((line.pk for line in planned if not line.is_used), "")
        self.initial.setdefault("line", due)


class FeeForm(ChargeForm):
    """A fee: a usual one, a planned one, or a free one."""

    ids = "fee"
    kind_of_line = LineKind.FEE
    rate = forms.TypedChoiceField(label=_("Usual fee"), coerce=int, empty_value=None, required=False)
    description = LineField(label=_("Or what it is for"), max_length=200, required=False)
    kind = forms.TypedChoiceField(
        label=_("Kind of fee"), choices=FeeKind, coerce=FeeKind, initial=FeeKind.OTHER
    )
    quantity = NumberField(
        label=_("How many"), decimals=3, least=Decimal("0.001"), most=Decimal(10_000), initial=Decimal(1)
    )
    unit = forms.TypedChoiceField(label=_("Unit"), choices=Unit, coerce=Unit, initial=Unit.EACH)
    unit_price = NumberField(
        label=_("What one comes to"),
        decimals=4,
        least=Decimal(0),
        required=False,
        help_text=_("Empty: the usual price."),
    )

    def __init__(self, *args: Any, page: ChargesPage, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, page=page, locale=locale, **kwargs)
        offer(self, "rate", [("", "–"), *((rate.pk, f"{rate.name} ({rate.unit})") for rate in page.rates)])
        if not page.rates:
            del self.fields["rate"]
        if not page.is_desk:
            del self.fields["unit_price"]
        days = days_as_quantity(page.storage_days)
        if days is not None:
            self.initial.update(
                quantity=days, rate=page.storage_rate or "", kind=FeeKind.STORAGE, unit=Unit.DAY
            )

    def as_input(self) -> FeeInput:
        typed = self.cleaned_data
        return FeeInput(
            quantity=typed["quantity"],
            rate=typed.get("rate") if typed.get("line") is None else None,
            line=typed.get("line"),
            kind=typed["kind"],
            description=typed["description"],
            unit=typed["unit"],
            unit_price=typed.get("unit_price") if typed.get("line") is None else None,
        )


class SubletForm(ChargeForm):
    """Work that goes out to another shop."""

    ids = "sublet"
    kind_of_line = LineKind.SUBLET
    supplier = LineField(label=_("Which shop does it?"), max_length=120)
    description = LineField(label=_("What is done there?"), max_length=200, required=False)
    due_back_date = forms.DateField(
        label=_("Due back"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    unit_cost = NumberField(
        label=_("What it costs the shop"),
        decimals=4,
        least=Decimal(0),
        required=False,
        help_text=_("May come later, with the bill."),
    )

    def __init__(self, *args: Any, page: ChargesPage, locale: str, **kwargs: Any) -> None:
        super().__init__(*args, page=page, locale=locale, **kwargs)
        if not page.is_desk:
            del self.fields["unit_cost"]

    def as_input(self) -> SubletInput:
        typed = self.cleaned_data
        return SubletInput(
            supplier=typed["supplier"],
            description=typed["description"],
            due_back_date=typed["due_back_date"],
            line=typed.get("line"),
            unit_cost=typed.get("unit_cost") if typed.get("line") is None else None,
        )

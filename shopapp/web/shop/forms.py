"""The forms of the shop's terms and fees."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.shop_terms import (
    LONGEST_FREE_DAYS,
    LONGEST_KEPT,
    LONGEST_LATELY,
    FeeRateInput,
    TermsInput,
)
from shopapp.calc.money import from_minor
from shopapp.models import FeeCredit, FeeKind, Shop, Unit
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.text_fields import LineField, StoryField

NIL, WHOLE = Decimal(0), Decimal(100)
COUNTS = ("lately_months", "storage_free_days", "invoice_keep_years")
AMOUNTS = ("diagnosis_fee", "spending_limit", "minimum_charge")


def _words(label: Any, **kwargs: Any) -> StoryField:
    return StoryField(label=label, max_length=3000, required=False, **kwargs)


class TermsForm(VersionedForm):
    """Usual figures, and the words that a customer signs."""

    diagnosis_fee = NumberField(label=_("Diagnosis fee"), decimals=2, least=NIL)
    fee_credit = forms.ChoiceField(label=_("What happens to the diagnosis fee"), choices=FeeCredit.choices)
    spending_limit = NumberField(
        label=_("Spending limit"),
        decimals=2,
        least=NIL,
        help_text=_("How much may be spent on finding the fault before asking, without tax."),
    )
    limit_comes_on_top = forms.BooleanField(
        label=_("The limit goes on after the first approval, in addition to it"), required=False
    )
    minimum_charge = NumberField(label=_("Minimum charge"), decimals=2, least=NIL)
    over_agreed = NumberField(
        label=_("The bill may exceed what was agreed by"),
        decimals=2,
        least=NIL,
        most=WHOLE,
        help_text=_("0 means never without asking. Check your local rules before you write more."),
    )
    offers_parts_back = forms.BooleanField(
        label=_("Ask whether the customer wants the replaced parts back"), required=False
    )
    lately_months = NumberField(
        label=_("“Seen lately” looks back"), decimals=0, least=NIL, most=Decimal(LONGEST_LATELY)
    )
    invoice_keep_years = NumberField(
        label=_("Invoices are kept for"),
        decimals=0,
        least=NIL,
        most=Decimal(LONGEST_KEPT),
        help_text=_("Said when a customer asks to be erased. Check your local rules."),
    )
    intake_text = _words(_("What the customer agrees to when the boat comes in"))
    storage_terms = _words(
        _("Storage terms"), help_text=_("The days without storage fee are named after these words.")
    )
    storage_free_days = NumberField(
        label=_("Days without storage fee"),
        decimals=0,
        least=NIL,
        most=Decimal(LONGEST_FREE_DAYS),
        help_text=_("Counted from the day the customer was told that the boat is ready."),
    )
    teardown_terms = _words(
        _("Taking apart"),
        help_text=_("What it costs to put back together, and what can't be put back as it was."),
    )
    own_parts_text = _words(_("Sentence for parts that the customer brings"))

    def as_input(self) -> TermsInput:
        """What the action needs."""
        typed = {name: self.cleaned_data[name] for name in _FIELDS}
        days = {name: int(typed[name]) for name in COUNTS}
        return TermsInput(**typed | days | {"over_agreed": typed["over_agreed"] / 100})


_FIELDS = tuple(name for name in TermsForm.base_fields if name != "version")


def terms_values(row: Shop) -> Mapping[str, Any]:
    """The terms in force by the names of the form's fields."""
    values = {name: getattr(row, name) for name in _FIELDS if name not in (*AMOUNTS, "over_agreed")}
    amounts = {name: from_minor(getattr(row, f"{name}_minor"), currency=row.currency) for name in AMOUNTS}
    days = {name: Decimal(values[name]) for name in COUNTS}
    return values | amounts | days | {"over_agreed": Decimal(row.over_agreed_e4) / 100}


class FeeForm(ShopForm):
    """One more fee."""

    name = LineField(label=_("Fee"), max_length=80)
    kind = forms.ChoiceField(label=_("What for"), choices=FeeKind.choices)
    unit_price = NumberField(label=_("Price without tax"), decimals=2, least=NIL)
    unit = forms.ChoiceField(label=_("Counted by"), choices=Unit.choices)

    def as_input(self) -> FeeRateInput:
        """What the action needs."""
        return FeeRateInput(**self.cleaned_data)

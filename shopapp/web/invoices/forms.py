"""Forms of the invoices room: money in and out, a draft's words, a credit, a sale over the counter."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.invoice_drafts import DraftInput, FeeInput, LineChange
from shopapp.actions.payments import LONGEST_NOTE, PaymentInput
from shopapp.models import PaymentMethod, Unit
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField

HUNDRED = Decimal(100)
MOST = Decimal(10) ** 11


class PaymentForm(ShopForm):
    """How much, how, and a word about it. Whether it is more than is owed, the action says."""

    amount = NumberField(label=_("Amount received"), decimals=3, least=Decimal(0), most=MOST)
    method = forms.ChoiceField(
        label=_("Paid by"),
        choices=PaymentMethod.choices,
        widget=forms.RadioSelect,
        initial=PaymentMethod.CARD,
    )
    note = LineField(label=_("Note"), max_length=LONGEST_NOTE, required=False)

    def as_input(self) -> PaymentInput:
        """What the action needs."""
        data: dict[str, Any] = self.cleaned_data
        return PaymentInput(amount=data["amount"], method=data["method"], note=data["note"])


class RefundForm(PaymentForm):
    """How much goes back, and how."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"].label = _("Amount given back")
        self.fields["method"].label = _("Given back by")


class DraftForm(VersionedForm):
    """What stands for the whole bill."""

    purchase_order = LineField(label=_("Purchase order number"), max_length=60, required=False)
    discount = NumberField(
        label=_("Discount on the whole bill"),
        decimals=2,
        least=Decimal(0),
        most=HUNDRED,
        required=False,
        help_text=_("In per cent. Empty: none."),
    )
    discount_reason = LineField(
        label=_("Why"), max_length=200, required=False, help_text=_("The customer reads it on the bill.")
    )

    def as_input(self) -> DraftInput:
        """What the action needs."""
        typed = self.cleaned_data
        return DraftInput(
            purchase_order=typed["purchase_order"],
            discount=(typed["discount"] or Decimal(0)) / HUNDRED,
            discount_reason=typed["discount_reason"],
        )


class LineForm(VersionedForm):
    """What a line says and costs on this bill."""

    description = LineField(label=_("What the customer reads"), max_length=200)
    discount = NumberField(label=_("Discount"), decimals=2, least=Decimal(0), most=HUNDRED, required=False)
    is_goodwill = forms.BooleanField(label=_("Goodwill: the shop pays this line"), required=False)
    note = LineField(label=_("Why"), max_length=300, required=False, help_text=_("Printed under the line."))

    def as_input(self) -> LineChange:
        """What the action needs."""
        typed = self.cleaned_data
        return LineChange(
            description=typed["description"],
            discount=(typed["discount"] or Decimal(0)) / HUNDRED,
            is_goodwill=typed["is_goodwill"],
            note=typed["note"],
        )


class FeeForm(VersionedForm):
    """A line that no book has."""

    description = LineField(label=_("What the customer reads"), max_length=200)
    quantity = NumberField(label=_("Quantity"), decimals=3, least=Decimal("0.001"), most=Decimal(10_000))
    unit = forms.ChoiceField(label=_("Unit"), choices=Unit.choices, initial=Unit.EACH)
    unit_price = NumberField(label=_("Price of one"), decimals=4, least=Decimal(0))
    note = LineField(label=_("Why"), max_length=300, required=False, help_text=_("Printed under the line."))

    def as_input(self) -> FeeInput:
        """What the action needs."""
        typed = self.cleaned_data
        return FeeInput(
            description=typed["description"],
            quantity=typed["quantity"],
            unit=Unit(typed["unit"]),
            unit_price=typed["unit_price"],
            note=typed["note"],
        )


class ReasonForm(ShopForm):
    """Why an invoice is taken back."""

    reason = ParagraphsField(
        label=_("Why it is taken back"), max_length=300, help_text=_("The customer reads it.")
    )


class BeyondForm(VersionedForm):
    """Why the owner bills more than was agreed."""

    reason = LineField(label=_("Why it is billed all the same"), max_length=300)

"""The form for money that comes in."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.payments import LONGEST_NOTE, PaymentInput
from shopapp.models import PaymentMethod
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.text_fields import LineField


class PaymentForm(ShopForm):
    """How much, how, and a word about it. Whether it is more than is owed, the action says."""

    amount = NumberField(label=_("Amount received"), decimals=3, least=Decimal(0), most=Decimal(10) ** 11)
    method = forms.ChoiceField(
        label=_("Paid by"),
        choices=PaymentMethod.choices,
        widget=forms.RadioSelect,
        initial=PaymentMethod.CARD,
    )
    note = LineField(label=_("Note"), max_length=LONGEST_NOTE, required=False)

    def as_input(self) -> PaymentInput:
        data: dict[str, Any] = self.cleaned_data
        return PaymentInput(amount=data["amount"], method=data["method"], note=data["note"])

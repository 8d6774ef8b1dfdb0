"""The form in which a customer signs the terms of an intake."""

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.intakes import LONGEST_NAME, SignInput
from shopapp.actions.signatures import LONGEST as LONGEST_DRAWING
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField


class SignForm(ShopForm):
    """A name, maybe a drawing; ``seen`` says what was read."""

    signed_name = LineField(
        label=_("Your name"),
        max_length=LONGEST_NAME,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    strokes = forms.CharField(
        label=_("Your signature"), max_length=LONGEST_DRAWING, required=False, widget=forms.HiddenInput
    )
    seen = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)

    def as_input(self, *, address: str | None, device: str) -> SignInput:
        """What the action needs, with the place it came from."""
        typed = self.cleaned_data
        return SignInput(
            signed_name=typed["signed_name"],
            strokes=typed["strokes"],
            seen_sha256=typed["seen"],
            address=address,
            device=device,
        )

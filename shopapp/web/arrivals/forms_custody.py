"""Forms of the pages after an arrival: what goes in and out, a photo, a signature on paper."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.custody import CustodyInput
from shopapp.actions.intakes import LONGEST_NAME, SignInput
from shopapp.models import CustodyMove, Thing
from shopapp.queries.custody import CustodyPage
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField


class CustodyForm(ShopForm):
    """Several things may go the same way with the same person, in one go."""

    thing = forms.MultipleChoiceField(
        label=_("What?"), choices=Thing.choices, widget=forms.CheckboxSelectMultiple
    )
    move = forms.ChoiceField(label=_("Which way?"), choices=CustodyMove.choices, widget=forms.RadioSelect)
    who = LineField(label=_("Who brings or takes it?"), max_length=120, required=False)
    place = LineField(label=_("Where is it then?"), max_length=80, required=False)
    note = ParagraphsField(
        label=_("Note"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, page: CustodyPage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        out = [one.thing for one in page.held if not one.is_here]
        is_all_here = page.is_boat_here and not out
        # what is out is most likely to come back next: keys after the boat, not the boat out again
        self.initial["thing"] = out if page.is_boat_here and out else [Thing.BOAT.value]
        self.initial["move"] = CustodyMove.OUT.value if is_all_here else CustodyMove.IN.value
        self.initial["who"] = page.customer

    def as_inputs(self) -> list[CustodyInput]:
        """One for each thing."""
        typed = self.cleaned_data
        return [
            CustodyInput(
                thing=thing,
                move=typed["move"],
                who=typed["who"],
                place=typed["place"],
                note=typed["note"],
            )
            for thing in typed["thing"]
        ]


class PhotoForm(ShopForm):
    """A photo of how it came."""

    photo = forms.FileField(
        label=_("Photo"),
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp", "data-photo-pick": ""}),
    )
    caption = LineField(label=_("What does it show?"), max_length=200, required=False)


class PaperSignatureForm(ShopForm):
    """Who signed the printed sheet; ``seen`` is the hash of the sheet that this page stands for."""

    signed_name = LineField(label=_("Name of whoever signed"), max_length=LONGEST_NAME)
    seen = forms.CharField(max_length=64, required=False, widget=forms.HiddenInput)

    def as_input(self) -> SignInput:
        """What the action needs."""
        typed = self.cleaned_data
        return SignInput(signed_name=typed["signed_name"], seen_sha256=typed["seen"])

"""What the desk does with an entry of a tablet that could not be taken by itself."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.entries import SettleInput
from shopapp.queries.people import Colleague
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField


class TakeForm(ShopForm):
    """Taken in; where it is not known whose hours they are, somebody says so."""

    person = forms.TypedChoiceField(label=_("Whose hours?"), coerce=int, empty_value=None, required=False)

    def __init__(self, *args: Any, people: Sequence[Colleague], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", "–"), *((one.pk, one.name) for one in people)]
        self.fields["person"].choices = choices  # type: ignore[attr-defined]  # a field of choices

    def as_input(self) -> SettleInput:
        return SettleInput(is_taken=True, person=self.cleaned_data["person"])


class SetAsideForm(ShopForm):
    """Why it does not go into the books."""

    reason = LineField(label=_("Why it does not go into the books"), max_length=300)

    def as_input(self) -> SettleInput:
        return SettleInput(is_taken=False, reason=self.cleaned_data["reason"])

"""The forms in which an answer to a quote is given: one choice a job, and who says so."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.approvals import LONGEST_NAME
from shopapp.actions.signatures import LONGEST as LONGEST_DRAWING
from shopapp.queries.customer_quotes import NOT_NOW, seen_text
from shopapp.queries.shown import Content
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField


class ChoicesForm(ShopForm):
    """Choices come from what was shown. Nothing here carries money; ``seen`` says which set had its total.

    The replaced parts are spoken of only where the shop gives them back.
    """

    wants_parts_back = forms.BooleanField(
        label=_("I want the replaced parts back"),
        required=False,
        help_text=_("Parts that go back to their maker, in exchange or under warranty, are shown to you."),
    )
    reason = ParagraphsField(
        label=_("Why not"), max_length=2000, required=False, help_text=_("If you like to tell us.")
    )
    seen = forms.CharField(max_length=2000, required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        content: Content,
        is_declined: bool = False,
        offers_parts_back: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.is_declined = is_declined
        if not offers_parts_back:
            del self.fields["wants_parts_back"]
        self._choices: dict[str, int] = {}
        for position, job in enumerate(content["jobs"], start=1):
            self._add_choice(job, position=position, is_only=len(content["jobs"]) == 1)

    def _add_choice(self, job: Content, *, position: int, is_only: bool) -> None:
        name = f"choice-{job['choice']}"
        self._choices[name] = job["choice"]
        label = _("Your choice") if is_only else _("Your choice %(number)d") % {"number": position}
        options = [(str(option["option"]), option["title"]) for option in job["options"]]
        self.fields[name] = forms.ChoiceField(
            label=label,
            choices=[*options, (NOT_NOW, _("Not now"))],
            required=not self.is_declined,
            widget=forms.RadioSelect,
            error_messages={
                "required": _("Please choose one, or “Not now”."),
                "invalid_choice": _("Please choose one of those above, or “Not now”."),
            },
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        is_complete = not self.errors and not self.is_declined
        if is_complete and cleaned.get("seen") != seen_text(self.picked()):
            raise forms.ValidationError(
                _("This is the total of what you chose. Please look at it, then press again.")
            )
        return cleaned

    def picked(self) -> Mapping[int, int | None]:
        """Choice → option (``None``: not now) of every choice that holds a valid pick."""
        if not self.is_bound:
            return {}
        self.is_valid()
        chosen = {pk: self.cleaned_data.get(name) for name, pk in self._choices.items()}
        return {pk: None if value == NOT_NOW else int(value) for pk, value in chosen.items() if value}


class DecisionForm(ChoicesForm):
    """What the customer signs: a typed name, perhaps a drawn signature."""

    signed_name = LineField(
        label=_("Your name"),
        max_length=LONGEST_NAME,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    strokes = forms.CharField(
        label=_("Your signature"), max_length=LONGEST_DRAWING, required=False, widget=forms.HiddenInput
    )

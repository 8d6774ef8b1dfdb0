"""The form in which a customer signs at the dock, and by which the shop reads what the tablet sent of it."""

import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.approvals import LONGEST_NAME
from shopapp.actions.dock_answers import DockAnswerInput
from shopapp.actions.signatures import LONGEST as LONGEST_DRAWING
from shopapp.queries.customer_quotes import NOT_NOW
from shopapp.queries.entry_texts import SIGNATURE
from shopapp.web.bench.forms import EntryForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField

APPROVE, DECLINE = "approve", "decline"
# a set as the page writes it, such as "5:9 6:none"
_SET = re.compile(r"[0-9]{1,10}:(?:[0-9]{1,10}|none)(?: [0-9]{1,10}:(?:[0-9]{1,10}|none)){0,30}")


def _key() -> forms.IntegerField:
    return forms.IntegerField(min_value=1, max_value=2_000_000_000, widget=forms.HiddenInput)


class SignatureForm(EntryForm):
    """An answer to one revision: the set that was chosen, the total that stood there, and who signed.

    ``says`` repeats the set in words, for the desk to read; nothing rests on it.
    """

    kind = SIGNATURE
    call = _key()
    revision = _key()
    shown_sha256 = forms.RegexField(r"^[0-9a-f]{64}$", widget=forms.HiddenInput)
    consent_version = forms.CharField(max_length=40, required=False, widget=forms.HiddenInput)
    answer = forms.ChoiceField(label=_("Your answer"), choices=[(APPROVE, APPROVE), (DECLINE, DECLINE)])
    seen = forms.RegexField(_SET, max_length=2000, required=False, widget=forms.HiddenInput)
    total = forms.DecimalField(max_digits=14, decimal_places=4, required=False, widget=forms.HiddenInput)
    says = LineField(max_length=2000, required=False, widget=forms.HiddenInput)
    signed_name = LineField(
        label=_("Your name"), max_length=LONGEST_NAME, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    strokes = forms.CharField(
        label=_("Your signature"), max_length=LONGEST_DRAWING, required=False, widget=forms.HiddenInput
    )
    reason = ParagraphsField(
        label=_("Why not"), max_length=2000, required=False, help_text=_("If you like to tell us.")
    )
    offers_parts_back = forms.BooleanField(required=False, widget=forms.HiddenInput)
    wants_parts_back = forms.BooleanField(
        label=_("I want the replaced parts back"),
        required=False,
        help_text=_("Parts that go back to their maker, in exchange or under warranty, are shown to you."),
    )

    def __init__(self, *args: Any, offers_parts_back: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not offers_parts_back:
            del self.fields["wants_parts_back"]

    @property
    def is_declined(self) -> bool:
        """Whether the fold of those who want none of it stands open: not before anybody asked for it."""
        return self.is_bound and self.data.get("answer") == DECLINE

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("answer") == APPROVE and not _SET.fullmatch(cleaned.get("seen") or ""):
            self.add_error("seen", _("It does not say what was chosen."))
        return cleaned

    def as_input(self) -> DockAnswerInput:
        data = self.cleaned_data
        is_declined = data["answer"] == DECLINE
        return DockAnswerInput(
            call=data["call"],
            revision=data["revision"],
            shown_sha256=data["shown_sha256"],
            consent_version=data["consent_version"],
            is_declined=is_declined,
            chosen={} if is_declined else _chosen(data["seen"]),
            total=None if is_declined else data["total"],
            signed_name=data["signed_name"],
            strokes=data["strokes"],
            reason=data["reason"],
            wants_parts_back=data["wants_parts_back"] if data["offers_parts_back"] else None,
        )


def _chosen(seen: str) -> Mapping[int, int | None]:
    pairs = (pair.split(":") for pair in seen.split(" "))
    return {int(choice): None if option == NOT_NOW else int(option) for choice, option in pairs}

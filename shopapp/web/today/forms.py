"""What a page's script sends when a form is put aside."""

import json
from typing import Any
from urllib.parse import parse_qsl, urlencode, urlsplit

from django import forms
from django.urls import Resolver404, resolve
from django.utils.translation import gettext_lazy as _

from shopapp.actions.parking import LONGEST_FORM, LONGEST_PATH, MOST_CHARACTERS, Field, ParkInput
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.parking import FIELD
from shopapp.web.shared.text_fields import LineField

# never kept: they belong to one opening of a page, or to nobody's eyes
NOT_KEPT = frozenset({"csrfmiddlewaretoken", "once_key", FIELD})


class ParkForm(ShopForm):
    """A heading, an address, which form of the page, and its fields as pairs of name and value."""

    title = LineField(label=_("Heading"), max_length=300)
    path = forms.CharField(label=_("Address"), max_length=LONGEST_PATH)
    form = LineField(label=_("Form"), max_length=LONGEST_FORM, required=False)
    fields_json = forms.CharField(label=_("Fields"), max_length=2 * MOST_CHARACTERS, strip=False)
    parked = forms.IntegerField(required=False, min_value=1, max_value=2**53)
    then = forms.ChoiceField(choices=[("today", ""), ("call", "")], required=False)

    def clean_path(self) -> str:
        """A page of ours, without the number of what was parked before."""
        parts = urlsplit(self.cleaned_data["path"])
        query = urlencode(
            [pair for pair in parse_qsl(parts.query, keep_blank_values=True) if pair[0] != FIELD]
        )
        try:
            resolve(parts.path)
        except Resolver404:
            raise forms.ValidationError(_("This is no page of the shop.")) from None
        if parts.scheme or parts.netloc:
            raise forms.ValidationError(_("This is no page of the shop."))
        return f"{parts.path}?{query}" if query else parts.path

    def clean_fields_json(self) -> list[Field]:
        """Pairs of text that a database can hold."""
        try:
            pairs = json.loads(self.cleaned_data["fields_json"])
        except (ValueError, RecursionError):
            pairs = None
        if not isinstance(pairs, list) or not all(map(_is_pair, pairs)):
            raise forms.ValidationError(_("These are no fields of a form. Open the page again."))
        return [(name, value) for name, value in pairs if name not in NOT_KEPT]

    def as_input(self) -> ParkInput:
        """What the action needs."""
        typed = self.cleaned_data
        return ParkInput(
            title=typed["title"],
            path=typed["path"],
            form=typed["form"],
            fields=typed["fields_json"],
            replaces=typed["parked"],
        )


def _is_pair(pair: Any) -> bool:
    return isinstance(pair, list) and len(pair) == 2 and all(map(_is_storable, pair))


def _is_storable(text: Any) -> bool:
    # half of a surrogate pair is no character, and PostgreSQL keeps no NUL
    return isinstance(text, str) and "\x00" not in text and _is_encodable(text)


def _is_encodable(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True

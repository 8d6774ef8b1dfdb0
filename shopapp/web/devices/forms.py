"""The forms of tablets and PINs."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.devices import DeviceInput
from shopapp.calc.pins import DIGITS
from shopapp.models import LEAST_LOCK_MINUTES, MOST_LOCK_MINUTES
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField

_MINUTES = [(str(number), str(number)) for number in range(LEAST_LOCK_MINUTES, MOST_LOCK_MINUTES + 1)]


def _pin_field(label: Any, *, name: str = "pin", **kwargs: Any) -> forms.CharField:
    """Six digits that nobody reads over the shoulder; the pad of the page types into it."""
    attrs = {"inputmode": "numeric", "autocomplete": "off", "data-pin": name}
    return forms.RegexField(
        r"^[0-9]{6}\Z",
        label=label,
        max_length=DIGITS,
        strip=True,
        error_messages={"invalid": _("A PIN is six digits.")},
        widget=forms.PasswordInput(attrs=attrs),
        **kwargs,
    )


def _password_field(label: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class WithPassword(ShopForm):
    """A form that only its own person may send: the password is given again."""

    password = _password_field(_("Your password"))


class EnrolForm(WithPassword):
    """What this tablet is called, and when it locks."""

    name = LineField(label=_("Name of this tablet"), max_length=60)
    lock_minutes = forms.ChoiceField(
        label=_("Locks after this many minutes without a touch"), choices=_MINUTES, initial="12"
    )
    field_order = ("name", "lock_minutes", "password")

    def as_input(self, *, replaces: int | None) -> DeviceInput:
        """What the action needs."""
        minutes = int(self.cleaned_data["lock_minutes"])
        return DeviceInput(name=self.cleaned_data["name"], lock_minutes=minutes, replaces=replaces)


class OwnPinForm(WithPassword):
    """A new PIN, typed twice because nobody sees it."""

    pin = _pin_field(_("New PIN"), help_text=_("Six digits. Not a run like 123456, not a repetition."))
    again = _pin_field(_("The same PIN once more"), name="again")
    field_order = ("password", "pin", "again")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "pin" in cleaned and "again" in cleaned and cleaned["pin"] != cleaned["again"]:
            self.add_error("again", _("The two PINs differ. Type the same one twice."))
        return cleaned


class PinForm(ShopForm):
    """The PIN of the person who was chosen."""

    secret = _pin_field(_("PIN"))


class PasswordForm(ShopForm):
    """Their password, once too many PINs were wrong."""

    secret = _password_field(_("Password"))

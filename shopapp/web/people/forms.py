"""The forms of the doors: signing in, passwords, the second step, and somebody new."""

from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from shopapp.actions.passwords import LONGEST, ShopPasswords
from shopapp.actions.people import PersonInput
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.text_fields import LineField

ROLE_CHOICES = [
    ("front_desk", _("Front desk: customers, quotes, invoices, payments")),
    ("technician", _("Technician: their own jobs at the bench")),
    ("owner", _("Owner: all of it, and costs, terms and people")),
]


def _secret(label: Any, *, autocomplete: str, **kwargs: Any) -> forms.CharField:
    """A password, taken exactly as it is typed; pasting and password managers are welcome."""
    widget = forms.PasswordInput(attrs={"autocomplete": autocomplete})
    return forms.CharField(label=label, max_length=LONGEST, strip=False, widget=widget, **kwargs)


def _roles() -> forms.MultipleChoiceField:
    """What somebody works as: at least one of them."""
    return forms.MultipleChoiceField(
        label=_("Works as"),
        choices=ROLE_CHOICES,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": _("Choose from the list.")},
    )


class SignInForm(forms.Form):
    """Name and password."""

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = _secret(_("Password"), autocomplete="current-password")


class CodeForm(ShopForm):
    """The digits of the app, or a code from paper."""

    code = forms.CharField(
        label=_("Code"),
        max_length=40,
        help_text=_("The six digits that your app shows now, or one of your codes from paper."),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "characters"}),
    )


class ProofForm(CodeForm):
    """Password and code once more, before the second step itself is changed."""

    password = _secret(_("Your password"), autocomplete="current-password")
    field_order = ("password", "code")


class SetUpForm(ProofForm):
    """The same while the second step is set up: there are no codes on paper yet."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].help_text = _("The six digits that your app shows now.")


class FirstPasswordForm(ShopForm):
    """A password of one's own."""

    new_password = _secret(_("New password"), autocomplete="new-password")
    again = _secret(_("The same once more"), autocomplete="new-password")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password"].help_text = ShopPasswords().get_help_text()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and cleaned["new_password"] != cleaned["again"]:
            self.add_error("again", _("This is not the same. Type the new password twice."))
        return cleaned


class PasswordForm(FirstPasswordForm):
    """Another password, by who knows the one there is."""

    password = _secret(_("Password until now"), autocomplete="current-password")
    field_order = ("password", "new_password", "again")


class NewPersonForm(ShopForm):
    """Somebody who joins. Their first password is made by the app."""

    name = LineField(label=_("Name"), max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=40,
        help_text=_("Small letters, digits, dots and hyphens, such as wen or wen.okafor."),
        validators=[
            RegexValidator(
                r"\A[a-z0-9][a-z0-9.\-]*\Z", _("Use small letters, digits, dots and hyphens, without a gap.")
            )
        ],
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )
    roles = _roles()

    def as_input(self, password: str) -> PersonInput:
        """What the action needs."""
        typed = self.cleaned_data
        return PersonInput(
            username=typed["username"],
            name=typed["name"],
            roles=tuple(typed["roles"]),
            password=password,
            is_first=True,
        )


class RolesForm(ShopForm):
    """What somebody works as from now on."""

    roles = _roles()

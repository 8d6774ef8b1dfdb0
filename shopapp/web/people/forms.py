"""The sign-in form."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from shopapp.models import Person


class SignInForm(forms.Form):
    """Name and password. One sentence for every way in which they do not fit."""

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, request: HttpRequest, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.person: Person | None = None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors:
            self.person = authenticate(
                self.request, username=cleaned["username"], password=cleaned["password"]
            )
            if self.person is None:
                raise forms.ValidationError(_("Name and password do not fit together. Try again."))
        return cleaned

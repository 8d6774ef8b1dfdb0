"""Asks once more for password and code, with the same limits as the door itself."""

from datetime import timedelta

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from shopapp.actions import second_steps, sign_ins
from shopapp.models import Person
from shopapp.web.people.knocks import knock_of, nobody_yet, wait_sentence

WAIT_HEADER = "Retry-After"


class MustWait(forms.ValidationError):
    """Too many tries, and how long to wait."""

    def __init__(self, wait: timedelta) -> None:
        super().__init__(wait_sentence(wait))
        self.wait = wait


def password_fits(request: HttpRequest, form: forms.Form, *, person: Person) -> bool:
    """Whether the form's password is the person's; otherwise the form says so, or how long to wait."""
    knock = knock_of(request, person.username)
    limits = sign_ins.password_limits(knock)
    wait = sign_ins.knocked(limits, knock=knock, by=nobody_yet())
    if wait is not None:
        return must_wait(form, wait)
    if not person.check_password(form.cleaned_data["password"]):
        sign_ins.note_miss(limits, knock=knock, step="password", by=nobody_yet())
        form.add_error("password", _("This is not your password."))
        return False
    sign_ins.forgive(limits, by=nobody_yet())
    return True


def code_fits(request: HttpRequest, form: forms.Form, *, person: Person) -> bool:
    """Whether the form's code is the person's and still unused; it is used up then."""
    knock = knock_of(request, person.username)
    limits = sign_ins.code_limits(knock)
    wait = sign_ins.knocked(limits, knock=knock, by=nobody_yet())
    if wait is not None:
        return must_wait(form, wait)
    if not second_steps.take_code(person.pk, form.cleaned_data["code"], by=nobody_yet()):
        sign_ins.note_miss(limits, knock=knock, step="code", by=nobody_yet())
        form.add_error(
            "code", _("This code does not fit, or it was used. Wait for the next one, then type it.")
        )
        return False
    sign_ins.forgive(limits, by=nobody_yet())
    return True


def must_wait(form: forms.Form, wait: timedelta) -> bool:
    """Say on the form how long to wait; never fits."""
    form.add_error(None, MustWait(wait))
    return False


def answered(
    request: HttpRequest, template: str, context: dict[str, object], *, form: forms.Form
) -> HttpResponse:
    """The page again with what was wrong: 422, or 429 with the seconds to wait; 200 for a fresh form."""
    if not form.is_bound:
        return render(request, template, context)
    waits = [error for error in form.non_field_errors().as_data() if isinstance(error, MustWait)]
    response = render(request, template, context, status=429 if waits else 422)
    if waits:
        response.headers[WAIT_HEADER] = str(int(waits[0].wait.total_seconds()) + 1)
    return response

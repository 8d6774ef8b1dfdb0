"""Pages for what an action refuses, and the way a refusal of input reaches its field."""

from collections.abc import Callable

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.queries.erased import Erased

LOOK_AGAIN_SECONDS = 30


def refused_page(request: HttpRequest, refusal: Refused) -> HttpResponse:
    """The sentence, and the way back; 403 when the actor may not, else 409."""
    status = 403 if isinstance(refusal, NotAllowed) else 409
    return render(request, "refused.html", {"sentence": refusal.sentence}, status=status)


def erased_page(request: HttpRequest, error: Erased) -> HttpResponse:
    """What was asked for went with its customer's data."""
    return render(request, "refused.html", {"sentence": error.sentence}, status=410)


def bad_input_page(request: HttpRequest, error: BadInput) -> HttpResponse:
    """The sentence about input that no form field could carry."""
    return render(request, "refused.html", {"sentence": str(error)}, status=422)


def storage_page() -> HttpResponse:
    """The database could not write. The page asks nothing of it, not even who is signed in."""
    headers = {"Retry-After": str(LOOK_AGAIN_SECONDS)}
    return HttpResponse(render_to_string("not_stored.html"), status=503, headers=headers)


def attempt[T](form: forms.Form, deed: Callable[[], T]) -> T | None:
    """Run the deed; put a refusal of input at its field (or above the form) and return nothing."""
    try:
        return deed()
    except BadInput as error:
        if error.field not in form.fields:
            form.add_error(None, str(error))
        else:
            # the sentence names the field as the page does
            label = str(form[error.field].label)
            form.add_error(error.field, str(type(error)(label, error.value, error.accepted)))
        return None


def first_problem(form: forms.Form) -> str:
    """The first sentence about a form that is not right, with its field's name unless it says that itself."""
    name, errors = next(iter(form.errors.items()))
    label, sentence = str(form[name].label) if name in form.fields else "", str(errors[0])
    return sentence if not label or sentence.startswith(label) else f"{label}: {sentence}"

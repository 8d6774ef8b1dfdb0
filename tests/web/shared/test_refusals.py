"""What an action refuses becomes a status and a sentence."""

import pytest
from django import forms
from django.db import OperationalError
from django.test import RequestFactory

from shopapp.actions.refusals import Busy, NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.middleware import RefusalsMiddleware
from shopapp.web.shared.refusals import attempt

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("exception", "status", "sentence"),
    [
        (Refused("This quote was sent."), 409, "This quote was sent."),
        (NotAllowed("Only the owner may."), 403, "Only the owner may."),
        (Busy("The same request is still running."), 409, "The same request is still running."),
        (Stale(None), 409, "Somebody else changed this while you were writing."),
        (
            BadInput("quantity", "x", "a number above 0"),
            422,
            "quantity: &quot;x&quot; is not accepted. Give a number above 0.",
        ),
        (
            BadInput("name", "<script>", "a name"),
            422,
            "name: &quot;&lt;script&gt;&quot; is not accepted. Give a name.",
        ),
        (OperationalError("database or disk is full"), 503, "could not write it down."),
    ],
)
def test_refusal_becomes_a_status_and_a_sentence_t20_t21_t24(
    exception: Exception, status: int, sentence: str
) -> None:
    request = RequestFactory().post("/a/")

    response = RefusalsMiddleware(lambda request: None).process_exception(request, exception)

    assert (response.status_code, response.content.decode().count(sentence)) == (status, 1)


def test_other_exceptions_are_left_alone() -> None:
    request = RequestFactory().post("/a/")

    answer = RefusalsMiddleware(lambda request: None).process_exception(request, ValueError("bug"))

    assert answer is None


class Form(forms.Form):
    quantity = forms.CharField()


@pytest.mark.parametrize(("field", "place"), [("quantity", "quantity"), ("request key", "__all__")])
def test_bad_input_lands_at_its_field(field: str, place: str) -> None:
    form = Form({"quantity": "x"})
    form.is_valid()

    def deed() -> None:
        raise BadInput(field, "x", "a number")

    assert attempt(form, deed) is None
    named = "Quantity" if place == "quantity" else field
    assert dict(form.errors) == {place: [f'{named}: "x" is not accepted. Give a number.']}


def test_deed_that_works_gives_its_value() -> None:
    assert attempt(Form({}), lambda: "/there/") == "/there/"

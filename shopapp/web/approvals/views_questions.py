"""The customer asks before answering; it decides nothing."""

from dataclasses import dataclass

from django import forms
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST

from shopapp.actions import questions
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.questions import LONGEST
from shopapp.actions.refusals import Refused
from shopapp.queries.links import Door
from shopapp.queries.questions import Asked, questions_of
from shopapp.web.approvals.doors import behind_door, private
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.htmx import wants_part
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.text_fields import ParagraphsField

PART = "approvals/decide.html#quote-questions"


class AskForm(ShopForm):
    """One question in the customer's words."""

    text = ParagraphsField(label=_("Your question"), max_length=LONGEST)


@dataclass(frozen=True, kw_only=True)
class AskPage:
    """The questions so far; why the last one was not taken, and its words, which are kept."""

    questions: tuple[Asked, ...]
    sentence: str = ""
    typed: str = ""


@login_not_required
@require_POST
@private
@behind_door
def ask(request: HttpRequest, door: Door) -> HttpResponse:
    form: forms.Form = AskForm(request.POST)
    by = Actor(scope=Scope.LINK, link=door.link, at=timezone.now())

    def effect() -> str:
        questions.ask_question(door.revision.pk, form.cleaned_data["text"], by=by)
        return f"{reverse('approvals:decide')}#quote-questions"

    try:
        location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    except Refused as refusal:
        return _not_taken(request, door, sentence=refusal.sentence, status=409)
    if location is None:
        sentence = str(next(iter(form.errors.values()))[0])
        return _not_taken(request, door, sentence=sentence, status=422)
    if wants_part(request):
        page = AskPage(questions=questions_of(door.revision))
        return render(request, PART, {"page": page})
    return HttpResponseRedirect(location)


def _not_taken(request: HttpRequest, door: Door, *, sentence: str, status: int) -> HttpResponse:
    """In place for htmx, which swaps 200 and 422; else a page with the way back."""
    page = AskPage(
        questions=questions_of(door.revision), sentence=sentence, typed=request.POST.get("text", "")
    )
    if wants_part(request):
        return render(request, PART, {"page": page}, status=422)
    return render(request, "approvals/refused.html", {"page": page}, status=status)

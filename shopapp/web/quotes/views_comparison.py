"""Comparing the options of a job: the assumptions on one page, and what comes of them as they are typed."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from shopapp import access
from shopapp.actions import comparisons
from shopapp.actions.comparisons import comparison_columns, life_columns
from shopapp.calc.errors import BadInput
from shopapp.models import QuoteChoice
from shopapp.queries.compare_pages import ComparePage, compare_page, trying
from shopapp.queries.economics import Economics, economics_of, unweighed
from shopapp.queries.versions import Conflict
from shopapp.web.quotes.forms_comparison import THE_RECORD, ComparisonForm, comparison_values
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@dataclass(frozen=True, kw_only=True)
class CompareView:
    """The page with what somebody else saved meanwhile."""

    compared: ComparePage
    economics: Economics
    conflict: Conflict | None


@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.may_price)
def compare(request: StaffRequest, pk: int) -> HttpResponse:
    choice: QuoteChoice = find_row(QuoteChoice.objects, pk=pk)
    page = compare_page(choice, at=timezone.now())
    if request.method == "GET" and not page.is_draft:
        return redirect("quotes:preview", choice.revision_id)
    initial = comparison_values(page.question.choice, page=page)
    form = ComparisonForm(request.POST or None, initial=initial, page=page)
    by = actor_of(request)

    def save() -> str:
        version = form.cleaned_data["version"]
        comparisons.set_comparison(choice.pk, form.as_input(), version=version, by=by)
        return f"{reverse('quotes:edit', args=[choice.revision_id])}#quote-comparison-{choice.pk}"

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=_saved)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    economics = economics_of(page.question, shows_costs=access.may_see_costs(request.user))
    view = CompareView(compared=page, economics=economics, conflict=sent.conflict)
    return render(request, "quotes/compare.html", {"page": view, "form": form}, status=sent.status)


@require_POST
@allowed(access.may_price)
def weigh(request: StaffRequest, pk: int) -> HttpResponse:
    """What comes of the assumptions as they stand in the form; nothing is written."""
    choice: QuoteChoice = find_row(QuoteChoice.objects, pk=pk)
    # typed many times a minute: the shop's record is read only where somebody rests on it
    rests_on_it = THE_RECORD in request.POST.values()
    page = compare_page(choice, at=timezone.now(), reads_record=rests_on_it)
    form = ComparisonForm(request.POST, page=page)
    try:
        economics = _tried(form, page=page, shows_costs=access.may_see_costs(request.user))
    except BadInput as error:
        economics = unweighed(page.question, problem=error.sentence)
    status = 422 if economics.problem else 200
    return render(request, "quotes/_economics.html", {"page": economics}, status=status)


def _tried(form: ComparisonForm, *, page: ComparePage, shows_costs: bool) -> Economics:
    if not form.is_valid():
        first = next(str(error) for errors in form.errors.values() for error in errors)
        return unweighed(page.question, problem=first)
    data, rows = form.as_input(), {option.row.pk: option.row for option in page.options}
    terms = comparison_columns(data, currency=page.currency)
    lives = {
        pk: life_columns(pk, life, options=rows, currency=page.currency) for pk, life in data.lives.items()
    }
    return economics_of(trying(page.question, terms=terms, lives=lives), shows_costs=shows_costs)


def _saved(row: QuoteChoice) -> dict[str, Any]:
    page = compare_page(row, at=timezone.now())
    values = comparison_values(page.question.choice, page=page)
    del values["version"]
    return values

"""Options and lines of a draft: added on the builder's page, changed and removed on pages of their own."""

from collections.abc import Callable
from dataclasses import dataclass

from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shopapp import access
from shopapp.actions import quotes
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.context import locale_of
from shopapp.models import QuoteChoice, QuoteLine, QuoteOption, RevisionState
from shopapp.queries.quotes import BuilderOption, builder_page
from shopapp.queries.versions import Conflict
from shopapp.web.quotes.cards import fresh_line_form, job_cards, line_ids
from shopapp.web.quotes.forms import (
    AddOptionForm,
    EditLineForm,
    LineForm,
    OptionForm,
    RemoveForm,
    line_values,
    option_values,
)
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.htmx import wants_part
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@dataclass(frozen=True, kw_only=True)
class EditPage:
    """What an edit page shows besides its form."""

    pk: int
    title: str
    revision_pk: int
    option_pk: int
    conflict: Conflict | None


@require_POST
@allowed(access.may_price)
def add_option(request: StaffRequest, pk: int) -> HttpResponse:
    choice: QuoteChoice = find_row(QuoteChoice.objects, pk=pk)
    form, by = AddOptionForm(request.POST), actor_of(request)
    if not form.is_valid():
        raise BadInput("way", request.POST.get("way", ""), "one of the ways in the list")

    def effect() -> str:
        return reverse("quotes:edit_option", args=[quotes.add_option(choice.pk, form.as_input(), by=by).pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.may_price)
def edit_option(request: StaffRequest, pk: int) -> HttpResponse:
    option: QuoteOption = find_row(QuoteOption.objects.select_related("choice__revision"), pk=pk)
    if request.method == "GET" and option.choice.revision.state != RevisionState.DRAFT:
        return redirect("quotes:preview", option.choice.revision_id)
    initial = {**option_values(option), "version": option.version}
    form = OptionForm(request.POST or None, initial=initial, locale=locale_of(request))
    by = actor_of(request)

    def save() -> str:
        quotes.edit_option(option.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return _builder_address(option)

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=option_values)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    page = _edit_page(option, pk=option.pk, title=option.title, conflict=sent.conflict)
    return render(request, "quotes/edit_option.html", {"page": page, "form": form}, status=sent.status)


@require_POST
@allowed(access.may_price)
def remove_option(request: StaffRequest, pk: int) -> HttpResponse:
    by = actor_of(request)

    def effect() -> str:
        revision = quotes.remove_option(pk, version=_seen_version(request), by=by)
        return reverse("quotes:edit", args=[revision.pk])

    return _removed(request, effect if QuoteOption.objects.filter(pk=pk).exists() else _not_there, by=by)


@require_POST
@allowed(access.may_price)
def add_line(request: StaffRequest, pk: int) -> HttpResponse:
    option: QuoteOption = find_row(QuoteOption.objects.select_related("choice__revision"), pk=pk)
    form = LineForm(
        request.POST,
        auto_id=line_ids(pk),
        locale=locale_of(request),
        sees_costs=access.may_see_costs(request.user),
    )
    by = actor_of(request)

    def effect() -> str:
        quotes.add_line(option.pk, form.as_input(), by=by)
        return _builder_address(option)

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if wants_part(request):
        return _lines_part(request, option, form=form if location is None else None)
    return HttpResponseRedirect(location) if location is not None else _builder(request, option, form=form)


def _lines_part(request: StaffRequest, option: QuoteOption, *, form: LineForm | None) -> HttpResponse:
    """The option's lines and totals as they are now, with an empty form or the one to put right.

    Beside it the comparison of its job, which rests on those totals.
    """
    page = builder_page(option.choice.revision_id, viewer=request.user, at=timezone.now())
    job = next(job for job in page.jobs if job.choice == option.choice_id)
    card: BuilderOption = next(one for one in job.options if one.pk == option.pk)
    shown = form or fresh_line_form(card, page=page, locale=locale_of(request))
    context = {"page": card, "form": shown}
    response = render(request, "quotes/edit.html#quote-lines", context, status=422 if form else 200)
    beside = {"page": job.economics, "is_beside": True}
    response.write(render_to_string("quotes/_economics.html", beside, request=request))
    return response


def _builder(request: StaffRequest, option: QuoteOption, *, form: LineForm) -> HttpResponse:
    page = builder_page(option.choice.revision_id, viewer=request.user, at=timezone.now())
    cards = job_cards(page, locale=locale_of(request), sent={option.pk: form})
    context = {"page": page, "forms": cards, "form": form}
    return render(request, "quotes/edit.html", context, status=422)


@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.may_price)
def edit_line(request: StaffRequest, pk: int) -> HttpResponse:
    line: QuoteLine = find_row(QuoteLine.objects.select_related("option__choice__revision"), pk=pk)
    if request.method == "GET" and line.option.choice.revision.state != RevisionState.DRAFT:
        return redirect("quotes:preview", line.option.choice.revision_id)
    sees_costs, by = access.may_see_costs(request.user), actor_of(request)
    initial = {**line_values(line, sees_costs=sees_costs), "version": line.version}
    form = EditLineForm(
        request.POST or None, initial=initial, locale=locale_of(request), sees_costs=sees_costs
    )

    def save() -> str:
        quotes.edit_line(line.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return _builder_address(line.option)

    sent = sent_edit(
        request,
        form=form,
        deed=save,
        by=by,
        values_of=lambda saved: line_values(saved, sees_costs=sees_costs),
    )
    if sent.location:
        return HttpResponseRedirect(sent.location)
    page = _edit_page(line.option, pk=line.pk, title=line.description, conflict=sent.conflict)
    return render(request, "quotes/edit_line.html", {"page": page, "form": form}, status=sent.status)


@require_POST
@allowed(access.may_price)
def remove_line(request: StaffRequest, pk: int) -> HttpResponse:
    by = actor_of(request)

    def effect() -> str:
        return _builder_address(quotes.remove_line(pk, version=_seen_version(request), by=by))

    return _removed(request, effect if QuoteLine.objects.filter(pk=pk).exists() else _not_there, by=by)


def _removed(request: StaffRequest, effect: Callable[[], str], *, by: Actor) -> HttpResponse:
    """A second click finds nothing to remove, yet leads where the first one led."""
    try:
        return HttpResponseRedirect(once(request, effect, by=by))
    except Stale as stale:
        raise Refused(
            _("Somebody changed this after you opened it. Look at it once more, then remove it.")
        ) from stale
    except BadInput:
        if effect is _not_there:
            raise Http404 from None
        raise


def _seen_version(request: StaffRequest) -> int:
    form = RemoveForm(request.POST)
    if not form.is_valid():
        raise BadInput(
            "seen_version", request.POST.get("seen_version", ""), _("that of a freshly opened page")
        )
    version: int = form.cleaned_data["seen_version"]
    return version


def _not_there() -> str:
    raise Http404


def _edit_page(option: QuoteOption, *, pk: int, title: str, conflict: Conflict | None) -> EditPage:
    return EditPage(
        pk=pk,
        title=title,
        revision_pk=option.choice.revision_id,
        option_pk=option.pk,
        conflict=conflict,
    )


def _builder_address(option: QuoteOption) -> str:
    return f"{reverse('quotes:edit', args=[option.choice.revision_id])}#quote-lines-{option.pk}"

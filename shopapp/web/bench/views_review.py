"""At the desk: what tablets sent that could not be taken by itself, and what is missing."""

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render, resolve_url
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions.entries import accept_gap, settle_entry
from shopapp.context import locale_of
from shopapp.models import Device, TabletEntry
from shopapp.queries.entry_pages import review_page
from shopapp.queries.entry_texts import read_entry
from shopapp.queries.people import technicians
from shopapp.web.bench.forms_review import SetAsideForm, TakeForm
from shopapp.web.bench.kinds import wanted_by
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@allowed(access.may_use_desk)
@require_safe
def review(request: StaffRequest) -> HttpResponse:
    return _shown(request)


@allowed(access.may_use_desk)
@require_POST
def take(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(TabletEntry.objects, pk=pk)
    form = TakeForm(request.POST, people=technicians())
    return _settled(request, row, form, said=_("Taken in."))


@allowed(access.may_use_desk)
@require_POST
def set_aside(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(TabletEntry.objects, pk=pk)
    return _settled(
        request, row, SetAsideForm(request.POST), said=_("Set aside. It stays in the list below.")
    )


@allowed(access.may_use_desk)
@require_POST
def accept(request: StaffRequest, pk: int) -> HttpResponse:
    """The gap of a tablet is known."""
    row, by = find_row(Device.objects, pk=pk), actor_of(request)

    def effect() -> str:
        accept_gap(row.pk, by=by)
        return resolve_url("bench:review")

    return HttpResponseRedirect(once(request, effect, by=by))


def _settled(
    request: StaffRequest, row: TabletEntry, form: TakeForm | SetAsideForm, *, said: str
) -> HttpResponse:
    by, locale = actor_of(request), locale_of(request)

    def effect() -> str:
        settle_entry(row.pk, form.as_input(), wanted_by(read_entry(row.text), locale=locale), by=by)
        return resolve_url("bench:review")

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _shown(request, form)
    messages.success(request, said)
    return HttpResponseRedirect(location)


def _shown(request: StaffRequest, form: forms.Form | None = None) -> HttpResponse:
    context = {"page": review_page(), "form": form}
    return render(request, "bench/review.html", context, status=422 if form is not None else 200)

"""Who waits to be called back: written down from anywhere, called, and brought back if it was too early."""

from collections.abc import Callable
from functools import partial
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import calls
from shopapp.context import Display, display
from shopapp.models import CallSlip
from shopapp.queries.calls import call_page, calls_page, new_call_page
from shopapp.web.calls.forms import CallEditForm, CallForm, CloseForm, call_values
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row

_LONGEST_NUMBER = 18


@allowed(access.may_use_desk)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    return _index(request, CloseForm())


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: StaffRequest) -> HttpResponse:
    page = new_call_page(
        customer=_number(request.GET.get("customer")), work_order=_number(request.GET.get("work_order"))
    )
    if page is None:
        raise Http404
    is_sent = request.method == "POST"
    known = {"name": page.name, "phone": page.phone}
    form = CallForm(_posted(request), page=page, initial=known, **_ways(request))
    if form.is_valid():
        deed = partial(calls.write_slip, form.as_input(), by=actor_of(request))
        location = attempt(form, lambda: _once(request, deed))
        if location is not None:
            return HttpResponseRedirect(location)
    return render(request, "calls/new.html", {"page": page, "form": form}, status=422 if is_sent else 200)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(CallSlip.objects.select_related("customer", "work_order"), pk=pk)
    initial = {**call_values(row), "version": row.version}
    form = CallEditForm(_posted(request), page=call_page(row), initial=initial, **_ways(request))
    by = actor_of(request)

    def save() -> str:
        calls.edit_slip(row.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return resolve_url("calls:index")

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=call_values)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    context = {"page": call_page(row, conflict=sent.conflict), "form": form}
    return render(request, "calls/edit.html", context, status=sent.status)


@allowed(access.may_use_desk)
@require_POST
def close(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(CallSlip.objects, pk=pk)
    form = CloseForm(request.POST)
    if not form.is_valid():
        return _index(request, form, status=422)
    deed = partial(calls.close_slip, row.pk, form.cleaned_data["answer"], by=actor_of(request))
    return HttpResponseRedirect(_once(request, deed))


@allowed(access.may_use_desk)
@require_POST
def reopen(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(CallSlip.objects, pk=pk)
    return HttpResponseRedirect(_once(request, partial(calls.reopen_slip, row.pk, by=actor_of(request))))


def _once(request: StaffRequest, deed: Callable[[], Any]) -> str:
    def effect() -> str:
        deed()
        return resolve_url("calls:index")

    return once(request, effect, by=actor_of(request))


def _index(request: StaffRequest, form: CloseForm, *, status: int = 200) -> HttpResponse:
    context = {"page": calls_page(now=timezone.now()), "form": form}
    return render(request, "calls/index.html", context, status=status)


def _display(request: HttpRequest) -> Display:
    return display(request)["display"]


def _ways(request: HttpRequest) -> dict[str, str]:
    return {"locale": _display(request).locale, "time_zone": _display(request).time_zone}


def _posted(request: HttpRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None


def _number(text: str | None) -> int | None:
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and len(text) <= _LONGEST_NUMBER):
        raise Http404
    return int(text)

"""The containers of the used-oil log, one container, and the table of a period."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render, resolve_url
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions.waste import begin_container, end_container, reopen_container
from shopapp.context import display, locale_of
from shopapp.models import WasteContainer
from shopapp.queries.used_oil import container_page, used_oil_page, with_level
from shopapp.queries.used_oil_table import used_oil_table
from shopapp.web.shared.downloads import table_file
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row, today_of
from shopapp.web.used_oil.forms import ContainerForm, PeriodForm, PutInForm


@allowed(access.may_log_work)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    page = used_oil_page(viewer=request.user, locale=locale_of(request))
    return render(request, "used_oil/index.html", {"page": page, "today": today_of(request)})


@allowed(access.may_log_work)
@require_safe
def detail(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(with_level(WasteContainer.objects.all()), pk=pk)
    page = container_page(row, viewer=request.user, locale=locale_of(request))
    # what it is stays unpicked: whoever pours has to say it
    context = {"page": page, "form": PutInForm(locale=locale_of(request))}
    return render(request, "used_oil/detail.html", context)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: StaffRequest) -> HttpResponse:
    is_sent, by = request.method == "POST", actor_of(request)
    form = ContainerForm(request.POST if is_sent else None, locale=locale_of(request))

    def effect() -> str:
        return resolve_url("used_oil:detail", pk=begin_container(form.as_input(), by=by).pk)

    if is_sent and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            return HttpResponseRedirect(location)
    return render(request, "used_oil/new.html", {"form": form}, status=422 if is_sent else 200)


@allowed(access.may_use_desk)
@require_POST
def end(request: StaffRequest, pk: int) -> HttpResponse:
    by = actor_of(request)
    return _moved(request, pk, deed=lambda: end_container(pk, by=by), said=_("The container is put away."))


@allowed(access.may_use_desk)
@require_POST
def reopen(request: StaffRequest, pk: int) -> HttpResponse:
    by = actor_of(request)
    return _moved(request, pk, deed=lambda: reopen_container(pk, by=by), said=_("It is in use again."))


@allowed(access.may_use_desk)
@require_safe
def table(request: StaffRequest) -> HttpResponseBase:
    first, last = PeriodForm(request.GET).period
    zone = display(request)["display"].time_zone
    return table_file(request, used_oil_table(first=first, last=last, time_zone=zone))


def _moved(request: StaffRequest, pk: int, *, deed: Callable[[], WasteContainer], said: str) -> HttpResponse:
    find_row(WasteContainer.objects, pk=pk)

    def effect() -> str:
        deed()
        return resolve_url("used_oil:detail", pk=pk)

    location = once(request, effect, by=actor_of(request))
    messages.success(request, said)
    return HttpResponseRedirect(location)

"""Who was on what on a day, and clocks that were forgotten put right."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from shopapp import access
from shopapp.actions.clocks import correct_span
from shopapp.context import display
from shopapp.queries.time_sheets import named_spans, span_row, time_sheets_page
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row, today_of
from shopapp.web.time_sheets.forms import CorrectForm, DayForm


@allowed(access.may_use_desk)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    form = DayForm(request.GET)
    wanted = form.cleaned_data["day"] if form.is_valid() else None
    page = time_sheets_page(wanted or today_of(request), now=timezone.now(), zone=_zone(request))
    return render(request, "time_sheets/index.html", {"page": page})


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def correct(request: StaffRequest, pk: int) -> HttpResponse:
    row, by, zone = find_row(named_spans(), pk=pk), actor_of(request), _zone(request)
    is_sent = request.method == "POST"
    form = CorrectForm(request.POST if is_sent else None, zone=zone, now=by.at)

    def effect() -> str:
        correct_span(row.pk, form.as_input(), by=by)
        return resolve_url("time_sheets:index")

    if is_sent and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            messages.success(request, _("Put right. The hours are in the books."))
            return HttpResponseRedirect(location)
    context = {"page": span_row(row, now=by.at, zone=zone), "form": form}
    return render(request, "time_sheets/correct.html", context, status=422 if is_sent else 200)


def _zone(request: StaffRequest) -> ZoneInfo:
    return ZoneInfo(display(request)["display"].time_zone)

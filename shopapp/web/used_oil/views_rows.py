"""What goes into a container, what a collector takes away, and rows that are struck out."""

from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shopapp import access
from shopapp.actions import waste
from shopapp.calc.units import Unit
from shopapp.context import display, locale_of
from shopapp.models import WasteContainer
from shopapp.queries.used_oil import LogRow, container_card, container_page, log_row, row_of, with_level
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row
from shopapp.web.used_oil.forms import HandOverForm, PutInForm, StrikeForm


@allowed(access.may_log_work)
@require_POST
def put_in(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(with_level(WasteContainer.objects.all()), pk=pk)
    form, by = PutInForm(request.POST, locale=locale_of(request)), actor_of(request)

    def effect() -> str:
        waste.put_in(pk, form.as_input(), by=by)
        return resolve_url("used_oil:detail", pk=pk)

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        page = container_page(row, viewer=request.user, locale=locale_of(request))
        return render(request, "used_oil/detail.html", {"page": page, "form": form}, status=422)
    messages.success(request, _("Logged: it went into %s.") % row.name)
    return HttpResponseRedirect(location)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def hand_over(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = find_row(with_level(WasteContainer.objects.all()), pk=pk), actor_of(request)
    is_sent, card = request.method == "POST", container_card(row, locale=locale_of(request))
    form = HandOverForm(
        request.POST if is_sent else None,
        locale=locale_of(request),
        zone=ZoneInfo(display(request)["display"].time_zone),
        now=by.at,
        initial={"taken_at": timezone.now(), **_all_of_it(card.level_ml)},
    )

    def effect() -> str:
        waste.hand_over(pk, form.as_input(), by=by)
        return resolve_url("used_oil:detail", pk=pk)

    if is_sent and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            messages.success(request, _("Logged: it was handed over."))
            return HttpResponseRedirect(location)
    context = {"page": card, "form": form}
    return render(request, "used_oil/hand_over.html", context, status=422 if is_sent else 200)


@allowed(access.may_log_work)
@require_http_methods(["GET", "HEAD", "POST"])
def strike(request: StaffRequest, slug: str) -> HttpResponse:
    row, by = row_of(slug), actor_of(request)
    if row is None:
        raise Http404
    page: LogRow = log_row(row, viewer=request.user, locale=locale_of(request))
    is_sent = request.method == "POST"
    form = StrikeForm(request.POST if is_sent else None, locale=locale_of(request))
    deed = waste.strike_hand_over if page.is_out else waste.strike_pour

    def effect() -> str:
        deed(row.pk, reason=form.cleaned_data["reason"], by=by)
        return resolve_url("used_oil:detail", pk=row.container_id)

    if is_sent and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            messages.success(request, _("Struck out."))
            return HttpResponseRedirect(location)
    context = {"page": page, "container": row.container_id, "form": form}
    return render(request, "used_oil/strike.html", context, status=422 if is_sent else 200)


def _all_of_it(level_ml: int) -> dict[str, Any]:
    """A collector mostly takes all: what is in it by the book stands there already."""
    return {"volume": Decimal(level_ml) / 1000, "measure": Unit.LITRE} if level_ml > 0 else {}

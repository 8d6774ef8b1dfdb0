"""The start page of the desk, what was put aside, and what one touched last."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions.parking import discard_parked, park_form
from shopapp.context import display
from shopapp.queries.parked import parked_page
from shopapp.queries.recent import recent_page
from shopapp.queries.shop_texts import ShopTexts
from shopapp.queries.today import today_page
from shopapp.queries.today_visits import WantedVisits
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed
from shopapp.web.shared.tablets import stay_here
from shopapp.web.today.forms import ParkForm

_LONGEST_NUMBER = 18
LEADS_TO = {"call": "calls:new"}


@allowed(access.is_staff_member)
@require_safe
def start(request: StaffRequest) -> HttpResponse:
    """Where the day begins: Today for the desk, the own work orders for a technician; the bench by PIN."""
    if stay_here(request) is not None:
        return HttpResponseRedirect(resolve_url("bench:index"))
    name = "today:index" if access.may_use_desk(request.user) else "work_orders:index"
    return HttpResponseRedirect(resolve_url(name))


@allowed(access.may_use_desk)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    wanted = WantedVisits(
        stage=request.GET.get("stage", ""),
        hold=request.GET.get("hold", ""),
        person=request.GET.get("person", "")[:_LONGEST_NUMBER],
    )
    page = today_page(wanted, viewer=request.user, now=timezone.now(), texts=_texts(request))
    return answer(request, "today/index.html", "today-visits", {"page": page})


@allowed(access.is_staff_member)
@require_safe
def recent(request: StaffRequest) -> HttpResponse:
    return answer(request, "today/recent.html", "recent-items", {"page": recent_page(request.user)})


@allowed(access.may_use_desk)
@require_safe
def parked(request: StaffRequest) -> HttpResponse:
    return render(request, "today/parked.html", {"page": parked_page(request.user.pk)})


@allowed(access.may_use_desk)
@require_POST
def park(request: StaffRequest) -> HttpResponse:
    form, by = ParkForm(request.POST), actor_of(request)
    if not form.is_valid():
        sentence = " ".join(str(error) for errors in form.errors.values() for error in errors)
        return render(request, "refused.html", {"sentence": sentence}, status=422)
    where = resolve_url(LEADS_TO.get(form.cleaned_data["then"], "today:index"))

    def effect() -> str:
        park_form(form.as_input(), by=by)
        return where

    location = once(request, effect, by=by)
    messages.success(request, _("Parked: %(title)s") % {"title": form.cleaned_data["title"]})
    return HttpResponseRedirect(location)


@allowed(access.may_use_desk)
@require_POST
def discard(request: StaffRequest, pk: int) -> HttpResponse:
    by = actor_of(request)

    def effect() -> str:
        discard_parked(pk, by=by)
        return resolve_url("today:parked")

    return HttpResponseRedirect(once(request, effect, by=by))


def _texts(request: HttpRequest) -> ShopTexts:
    shown = display(request)["display"]
    return ShopTexts(currency=shown.currency, locale=shown.locale, time_zone=shown.time_zone)

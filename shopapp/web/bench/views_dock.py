"""The dock call of the day: one visit with name, telephone and prices, at the tablet it was handed out to."""

from datetime import datetime

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shopapp import access
from shopapp.context import locale_of
from shopapp.files.photos import read_photo
from shopapp.models import DockCall
from shopapp.queries.dock_calls import DockPage, dock_call_here, dock_page, dock_photos
from shopapp.queries.shop import end_of_day, the_shop
from shopapp.web.bench.forms_dock import SignatureForm
from shopapp.web.bench.views import KEPT_FOR
from shopapp.web.shared.signed_in import StaffRequest, allowed, today_of
from shopapp.web.shared.tablets import stay_here

# in milliseconds, as browsers count: from then on nothing of it is kept
KEPT_UNTIL = "X-Shopapp-Kept-Until"


@allowed(access.may_log_work)
@require_safe
def dock(request: StaffRequest, pk: int) -> HttpResponse:
    call = _find_call(request)
    if call.pk != pk:
        raise Http404
    page = dock_page(call, viewer=request.user)
    quotes = [(quote, _form(page, quote.pk, locale=locale_of(request))) for quote in page.quotes]
    response = render(request, "bench/dock.html", {"page": page, "quotes": quotes})
    return _kept(response, call, until=page.ends_at)


@allowed(access.may_log_work)
@require_safe
def dock_photo(request: StaffRequest, name: str) -> HttpResponse:
    """A photo that is frozen in a quote of the call: the call's number, a dash, and its SHA-256."""
    call, (pk, _dash, sha256) = _find_call(request), name.partition("-")
    if pk != str(call.pk) or sha256 not in dock_photos(call):
        raise Http404
    try:
        response = HttpResponse(read_photo(sha256), content_type="image/webp")
    except FileNotFoundError:
        raise Http404 from None
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "no-store"
    return _kept(response, call, until=end_of_day(the_shop(), call.call_date))


def _find_call(request: StaffRequest) -> DockCall:
    """What is handed out to whoever works at this tablet, today; 404 for everybody else."""
    stay = stay_here(request)
    call = dock_call_here(stay.device, stay.person, day=today_of(request)) if stay is not None else None
    if call is None:
        raise Http404
    return call


def _form(page: DockPage, revision: int, *, locale: str) -> SignatureForm:
    ids = f"{SignatureForm.kind}_{revision}_%s"
    return SignatureForm(auto_id=ids, locale=locale, offers_parts_back=page.offers_parts_back)


def _kept(response: HttpResponse, call: DockCall, *, until: datetime) -> HttpResponse:
    response[KEPT_FOR] = str(call.person_id)
    response[KEPT_UNTIL] = str(int(until.timestamp() * 1000))
    return response

"""A boat arrives: find it, or write it down, and open its work order."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import resolve_url
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from shopapp import access
from shopapp.actions.arrivals import open_work_order
from shopapp.context import locale_of
from shopapp.queries.arrivals import ArrivalPage, Subject, Typed, arrival_page, find_page
from shopapp.web.arrivals.forms import BOAT, ArrivalForm
from shopapp.web.arrivals.forms_engines import NEW
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed

_LONGEST_TYPED = 120
_LONGEST_NUMBER = 18


@allowed(access.may_use_desk)
@require_safe
def find(request: StaffRequest) -> HttpResponse:
    page = find_page(request.GET.get("q", ""))
    return answer(request, "arrivals/find.html", "find-results", {"page": page})


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: StaffRequest) -> HttpResponse:
    page = _page(request)
    is_sent = request.method == "POST"
    typed = _typed(request, page) if is_sent else None
    form = ArrivalForm(typed, page=page, locale=locale_of(request))
    if form.is_valid():
        location = attempt(form, lambda: _opened(request, form))
        if location is not None:
            _remark(request, page)
            return HttpResponseRedirect(location)
    context = {"page": page, "form": form}
    return answer(request, "arrivals/new.html", "hull-remark", context, status=422 if is_sent else 200)


def _opened(request: StaffRequest, form: ArrivalForm) -> str:
    by = actor_of(request)

    def effect() -> str:
        return resolve_url("arrivals:taken_in", pk=open_work_order(form.as_input(), by=by).pk)

    return once(request, effect, by=by)


def _page(request: HttpRequest) -> ArrivalPage:
    sent = request.POST if request.method == "POST" else request.GET
    typed = Typed(
        name=sent.get("name", "")[:_LONGEST_TYPED],
        phone=sent.get("phone", "")[:_LONGEST_TYPED],
        hull_number=sent.get("hull_number", "")[:_LONGEST_TYPED],
        payer=sent.get("payer", "")[:_LONGEST_TYPED],
    )
    page = arrival_page(_subject(request), typed=typed, at=timezone.now())
    if page is None:
        raise Http404
    return page


def _subject(request: HttpRequest) -> Subject:
    chosen = request.POST.get("likely", "")
    if chosen.startswith(BOAT):
        return Subject(vessel=_number(chosen.removeprefix(BOAT)))
    owner = request.GET.get("customer")
    return Subject(
        vessel=_number(request.GET.get("vessel")),
        customer=_number(owner) if owner != NEW else None,
        is_owner_new=owner == NEW,
    )


def _typed(request: HttpRequest, page: ArrivalPage) -> QueryDict:
    """What was sent; of a boat that turns out to be known, the engine is asked for if there are several."""
    if not request.POST.get("likely", "").startswith(BOAT) or NEW not in request.POST.getlist("engine"):
        return request.POST
    typed = request.POST.copy()
    typed.setlist("engine", [str(page.engines[0].pk)] if len(page.engines) == 1 else [])
    return typed


def _number(text: str | None) -> int | None:
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and len(text) <= _LONGEST_NUMBER):
        raise Http404
    return int(text)


def _remark(request: StaffRequest, page: ArrivalPage) -> None:
    if page.hull is not None and page.hull.remarks:
        text = _("Look at the hull number again: %(remarks)s") % {"remarks": " ".join(page.hull.remarks)}
        messages.warning(request, text)

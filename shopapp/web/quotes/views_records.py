"""The shop's own record of what held: at a glance, and one of them opened to its jobs."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from shopapp import access
from shopapp.queries.repair_pages import record_index, record_page, wanted_by
from shopapp.queries.shop import the_shop
from shopapp.web.shared.paging import page_number
from shopapp.web.shared.signed_in import StaffRequest, allowed


@require_safe
@allowed(access.may_price)
def records(request: StaffRequest) -> HttpResponse:
    page = record_index(shop=the_shop(), at=timezone.now())
    return render(request, "quotes/records.html", {"page": page})


@require_safe
@allowed(access.may_price)
def record(request: StaffRequest, key: str) -> HttpResponse:
    wanted = wanted_by(key)
    if wanted is None:
        raise Http404
    page = record_page(
        wanted,
        fate=request.GET.get("fate", ""),
        number=page_number(request),
        viewer=request.user,
        shop=the_shop(),
        at=timezone.now(),
    )
    if page is None:
        raise Http404
    return render(request, "quotes/record.html", {"page": page})

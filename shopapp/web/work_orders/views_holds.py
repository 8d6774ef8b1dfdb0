"""What a visit waits for: written down, chased, over, and taken up again."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shopapp import access
from shopapp.actions import holds
from shopapp.actions.actor import Actor
from shopapp.models import Hold, PlacedHold
from shopapp.queries.ask_pages import Asking, find_hold, hold_kinds, open_jobs, staff
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_work_order, today_of
from shopapp.web.work_orders.asking import asked, chase_of, sent
from shopapp.web.work_orders.forms_ask import WHOLE_VISIT, HoldForm, NewHoldForm


@allowed(access.may_log_work)
@require_http_methods(["GET", "HEAD", "POST"])
def new_hold(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    jobs = open_jobs(work_order, viewer=request.user)
    offers = {
        "kind": hold_kinds(request.user),
        "job": [WHOLE_VISIT, *jobs],
        "chaser": [(one.pk, one.name) for one in staff()],
    }
    initial = {"chaser": request.user.pk, "chase_date": today_of(request) + timedelta(days=1)}
    form = NewHoldForm(sent(request), offers=offers, initial=initial)
    asking = Asking(title=_("What it waits for"), button=_("Write it down"))
    return asked(
        request,
        work_order,
        asking,
        form=form,
        deed=lambda: holds.place_hold(pk, form.as_input(), by=by),
    )


@allowed(access.may_log_work)
@require_http_methods(["GET", "HEAD", "POST"])
def hold(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = _find(request, pk), actor_of(request)
    initial = {**chase_of(row), "chase_date": today_of(request) + timedelta(days=1), "version": row.version}
    offers = {"chaser": [(one.pk, one.name) for one in staff()]}
    form = HoldForm(sent(request), offers=offers, initial=initial)
    asking = Asking(
        title=_("Chase it: %s") % Hold(row.kind).label,
        button=_("Keep it waiting"),
        sentences=(_("Say what came of it and when somebody asks again."),),
    )
    return asked(
        request,
        row.work_order,
        asking,
        form=form,
        deed=lambda: holds.chase_hold(pk, form.as_input(), version=form.cleaned_data["version"], by=by),
        values_of=chase_of,
    )


@allowed(access.may_log_work)
@require_POST
def release_hold(request: StaffRequest, pk: int) -> HttpResponse:
    return _changed(request, _find(request, pk), holds.release_hold)


@allowed(access.may_log_work)
@require_POST
def restore_hold(request: StaffRequest, pk: int) -> HttpResponse:
    return _changed(request, _find(request, pk), holds.restore_hold)


def _changed(request: StaffRequest, row: PlacedHold, deed: Callable[..., Any]) -> HttpResponse:
    by: Actor = actor_of(request)

    def effect() -> str:
        deed(row.pk, by=by)
        return reverse("work_orders:detail", args=[row.work_order_id]) + "#work-order-holds"

    return HttpResponseRedirect(once(request, effect, by=by))


def _find(request: StaffRequest, pk: int) -> PlacedHold:
    row = find_hold(pk, viewer=request.user)
    if row is None:
        raise Http404
    return row

"""The list of work orders, the legend of signs, the story of a visit, its dock calls and its way home."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions import dock_calls, work_orders
from shopapp.actions.actor import Actor
from shopapp.context import display, locale_of
from shopapp.models import DockCall, WorkOrder
from shopapp.queries.devices import tablets
from shopapp.queries.people import technicians
from shopapp.queries.signs import signs_page
from shopapp.queries.work_order_pages import WorkOrderPage, work_order_page
from shopapp.queries.work_orders import Wanted, index_page
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.paging import page_number
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import (
    StaffRequest,
    actor_of,
    allowed,
    find_job,
    find_row,
    find_work_order,
    today_of,
)
from shopapp.web.work_orders.forms import AssignForm, HandBackForm, HandOutForm, TellForm


@allowed(access.is_staff_member)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    wanted = Wanted(
        stage=request.GET.get("stage", ""),
        hold=request.GET.get("hold", ""),
        person=_person(request.GET.get("person", "")),
        is_closed=request.GET.get("closed") == "1",
        page=page_number(request),
    )
    page = index_page(wanted, viewer=request.user, today=today_of(request))
    return answer(request, "work_orders/index.html", "work-order-rows", {"page": page})


def _person(text: str) -> int | None:
    """A person's number; other text asks for nobody in particular."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


@allowed(access.is_staff_member)
@require_safe
def signs(request: StaffRequest) -> HttpResponse:
    return render(request, "work_orders/signs.html", {"page": signs_page()})


@allowed(access.is_staff_member)
@require_safe
def detail(request: StaffRequest, pk: int) -> HttpResponse:
    return _detail(request, find_work_order(request, pk))


@allowed(access.may_use_desk)
@require_POST
def tell_customer(request: StaffRequest, pk: int) -> HttpResponse:
    work_order = find_work_order(request, pk)
    form, by = TellForm(request.POST), actor_of(request)
    return _done(
        request,
        work_order,
        form=form,
        by=by,
        deed=lambda: work_orders.tell_customer(work_order.pk, form.as_input(), by=by),
    )


@allowed(access.may_use_desk)
@require_POST
def hand_back(request: StaffRequest, pk: int) -> HttpResponse:
    work_order = find_work_order(request, pk)
    form, by = HandBackForm(request.POST), actor_of(request)
    return _done(
        request,
        work_order,
        form=form,
        by=by,
        deed=lambda: work_orders.hand_back(work_order.pk, form.as_input(), by=by),
    )


@allowed(access.may_use_desk)
@require_POST
def assign(request: StaffRequest, pk: int) -> HttpResponse:
    job = find_job(request, pk)
    work_order = find_work_order(request, job.work_order_id)
    form = AssignForm(request.POST, people=technicians())
    by = actor_of(request)
    return _done(
        request,
        work_order,
        form=form,
        by=by,
        deed=lambda: work_orders.assign_technician(job.pk, form.as_input(), by=by),
    )


@allowed(access.may_use_desk)
@require_POST
def hand_out(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    form = HandOutForm(request.POST, people=technicians(), tablets=tablets())
    return _done(
        request,
        work_order,
        form=form,
        by=by,
        deed=lambda: dock_calls.hand_out_dock_call(work_order.pk, form.as_input(), by=by),
    )


@allowed(access.may_use_desk)
@require_POST
def take_back_call(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = find_row(DockCall.objects, pk=pk), actor_of(request)

    def effect() -> str:
        dock_calls.take_back_dock_call(row.pk, by=by)
        return reverse("work_orders:detail", args=[row.work_order_id]) + "#work-order-dock-call"

    return HttpResponseRedirect(once(request, effect, by=by))


def _done(
    request: StaffRequest,
    work_order: WorkOrder,
    *,
    form: forms.Form,
    by: Actor,
    deed: Callable[[], Any],
) -> HttpResponse:
    """Do it once and go back to the page; or show the page again with what was typed and the message."""
    address = reverse("work_orders:detail", args=[work_order.pk])

    def effect() -> str:
        deed()
        return address

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        return HttpResponseRedirect(location)
    return _detail(request, work_order, form=form, status=422)


def _detail(
    request: StaffRequest, work_order: WorkOrder, *, form: forms.Form | None = None, status: int = 200
) -> HttpResponse:
    page = _page(request, work_order)
    context = {"page": page, "form": form, "forms": _forms(page, form)}
    return render(request, "work_orders/detail.html", context, status=status)


def _page(request: StaffRequest, work_order: WorkOrder) -> WorkOrderPage:
    currency = display(request)["display"].currency
    return work_order_page(
        work_order,
        viewer=request.user,
        today=today_of(request),
        currency=currency,
        locale=locale_of(request),
    )


def _forms(page: WorkOrderPage, failed: forms.Form | None) -> dict[str, forms.Form]:
    """The desk's forms on the page; the one that failed keeps what was typed."""
    tell, hand_back = TellForm(auto_id="tell_%s"), HandBackForm(auto_id="hand_back_%s")
    hand_back.initial = {"gone_to": page.customer}
    return {
        "tell": failed if isinstance(failed, TellForm) else tell,
        "hand_back": failed if isinstance(failed, HandBackForm) else hand_back,
    }

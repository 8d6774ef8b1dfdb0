"""Rows of the actual book put right; fees and bought-in work; and what goes beyond what was agreed."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions import corrections, fees, sublets
from shopapp.context import locale_of
from shopapp.queries.actual_rows import MODELS, RowKey, key_of
from shopapp.queries.charge_pages import ChargesPage, charges_page
from shopapp.queries.row_pages import RowPage, agreed_page, row_page
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import (
    StaffRequest,
    actor_of,
    allowed,
    find_job,
    find_work_order,
    today_of,
)
from shopapp.web.work_orders.flags import flag
from shopapp.web.work_orders.forms_rows import (
    FeeForm,
    LinkForm,
    OverrideForm,
    PayerForm,
    PriceForm,
    StrikeForm,
    SubletForm,
)
from shopapp.web.work_orders.said import said


@allowed(access.may_use_desk)
@require_safe
def agreed(request: StaffRequest, pk: int) -> HttpResponse:
    page = agreed_page(find_work_order(request, pk))
    return render(request, "work_orders/agreed.html", {"page": page})


@allowed(access.may_log_work)
@require_safe
def row(request: StaffRequest, slug: str) -> HttpResponse:
    _key, page = _found(request, slug)
    return _row(request, page)


@allowed(access.may_log_work)
@require_POST
def strike(request: StaffRequest, slug: str) -> HttpResponse:
    key, page = _found(request, slug)
    form, by = StrikeForm(request.POST), actor_of(request)
    return _changed(
        request, page, form, lambda: corrections.strike_row(key, reason=form.cleaned_data["reason"], by=by)
    )


@allowed(access.may_log_work)
@require_POST
def link(request: StaffRequest, slug: str) -> HttpResponse:
    key, page = _found(request, slug)
    form, by = LinkForm(request.POST, page=page, locale=locale_of(request)), actor_of(request)
    return _changed(
        request, page, form, lambda: corrections.link_row(key, line=form.cleaned_data["line"], by=by)
    )


@allowed(access.may_use_desk)
@require_POST
def price(request: StaffRequest, slug: str) -> HttpResponse:
    key, page = _found(request, slug)
    form, by = PriceForm(request.POST, locale=locale_of(request)), actor_of(request)
    return _changed(request, page, form, lambda: corrections.price_row(key, form.as_input(), by=by))


@allowed(access.may_use_desk)
@require_POST
def payer(request: StaffRequest, slug: str) -> HttpResponse:
    key, page = _found(request, slug)
    form, by = PayerForm(request.POST), actor_of(request)
    return _changed(request, page, form, lambda: corrections.set_payer(key, form.as_input(), by=by))


@allowed(access.may_see_costs)
@require_POST
def override(request: StaffRequest, slug: str) -> HttpResponse:
    key, page = _found(request, slug)
    form, by = OverrideForm(request.POST), actor_of(request)

    def deed() -> object:
        typed = form.cleaned_data
        return corrections.override_row(key, is_on=typed["is_on"], reason=typed["override_reason"], by=by)

    return _changed(request, page, form, deed)


@allowed(access.may_log_work)
@require_POST
def take_back(request: StaffRequest, slug: str) -> HttpResponse:
    key, page = _found(request, slug)
    if key[0] != "sublet_entry":
        raise Http404
    by = actor_of(request)
    return _changed(request, page, forms.Form({}), lambda: sublets.take_back_sublet(key[1], by=by))


def _found(request: StaffRequest, slug: str) -> tuple[RowKey, RowPage]:
    """The row and its page, or 404 when it is missing or on a boat that is not this person's to see."""
    key = key_of(slug)
    if key is None:
        raise Http404
    rows = MODELS[key[0]]._default_manager.select_related("job__work_order__vessel", "logged_by")
    found = rows.filter(pk=key[1]).first()
    if found is None or not access.may_see_work_order(request.user, found.job.work_order):
        raise Http404
    return key, row_page(key, found, viewer=request.user)


def _changed(
    request: StaffRequest, page: RowPage, form: forms.Form, deed: Callable[[], object]
) -> HttpResponse:
    """Do it once and go back to the bench; or show the row again with what was typed and the message."""
    address = reverse("work_orders:bench", args=[page.job_pk])

    def effect() -> str:
        deed()
        return address

    by = actor_of(request)
    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _row(request, page, failed=form)
    messages.success(request, _("Saved: %s.") % page.words)
    return HttpResponseRedirect(location)


def _row(request: StaffRequest, page: RowPage, *, failed: forms.Form | None = None) -> HttpResponse:
    fresh: dict[str, forms.Form] = {
        "strike": StrikeForm(),
        "link": LinkForm(page=page, locale=locale_of(request)),
    }
    if page.money is not None:
        paid = {"payer": page.money.payer, "payer_reason": page.money.payer_reason}
        fresh |= {
            "price": PriceForm(locale=locale_of(request)),
            "payer": PayerForm(initial=paid),
            "override": OverrideForm(initial={"is_on": True}),
        }
    shown = {name: failed if type(failed) is type(form) else form for name, form in fresh.items()}
    context = {"page": page, "form": failed, "forms": shown}
    return render(request, "work_orders/row.html", context, status=422 if failed is not None else 200)


@allowed(access.may_log_work)
@require_safe
def charges(request: StaffRequest, pk: int) -> HttpResponse:
    return _charges(request, _charges_page(request, pk))


@allowed(access.may_log_work)
@require_POST
def log_fee(request: StaffRequest, pk: int) -> HttpResponse:
    page, by = _charges_page(request, pk), actor_of(request)
    form = FeeForm(request.POST, page=page, locale=locale_of(request))
    return _charged(request, page, form, lambda: fees.log_fee(pk, form.as_input(), by=by))


@allowed(access.may_log_work)
@require_POST
def log_sublet(request: StaffRequest, pk: int) -> HttpResponse:
    page, by = _charges_page(request, pk), actor_of(request)
    form = SubletForm(request.POST, page=page, locale=locale_of(request))
    return _charged(request, page, form, lambda: sublets.log_sublet(pk, form.as_input(), by=by))


def _charges_page(request: StaffRequest, pk: int) -> ChargesPage:
    return charges_page(find_job(request, pk), viewer=request.user, today=today_of(request))


def _charged(
    request: StaffRequest, page: ChargesPage, form: forms.Form, deed: Callable[[], Any]
) -> HttpResponse:
    address, written = reverse("work_orders:charges", args=[page.pk]), []

    def effect() -> str:
        written.append(deed())
        return address

    by = actor_of(request)
    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _charges(request, page, failed=form)
    messages.success(request, said(written[0] if written else None, locale=locale_of(request)))
    flag(request, written)
    return HttpResponseRedirect(location)


def _charges(request: StaffRequest, page: ChargesPage, *, failed: forms.Form | None = None) -> HttpResponse:
    fresh = {
        "fee": FeeForm(page=page, locale=locale_of(request)),
        "sublet": SubletForm(page=page, locale=locale_of(request)),
    }
    shown = {name: failed if type(failed) is type(form) else form for name, form in fresh.items()}
    context = {"page": page, "form": failed, "forms": shown}
    return render(request, "work_orders/charges.html", context, status=422 if failed is not None else 200)

"""Customers, their boats and engines: looked up and put right at the desk."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import render, resolve_url
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions.customers import edit_customer
from shopapp.actions.engines import edit_engine
from shopapp.actions.lay_ups import put_engine_in_service
from shopapp.actions.vessels import edit_vessel
from shopapp.context import locale_of
from shopapp.models import Customer, Engine, Vessel
from shopapp.queries.customers import customer_edit_page, customer_page, customers_page, vessel_page
from shopapp.queries.engines import engine_page, mounting_now
from shopapp.queries.spec_book import offered_families
from shopapp.queries.tables import customer_table
from shopapp.web.customers.forms import (
    CustomerForm,
    EngineForm,
    VesselForm,
    customer_values,
    engine_values,
    vessel_values,
)
from shopapp.web.shared.downloads import table_file
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.paging import page_number
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row

_LONGEST_QUESTION = 100


@allowed(access.may_use_desk)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    question = request.GET.get("q", "")[:_LONGEST_QUESTION]
    page = customers_page(question=question, number=page_number(request))
    return answer(request, "customers/index.html", "customer-rows", {"page": page})


@allowed(access.may_use_desk)
@require_safe
def table(request: StaffRequest) -> HttpResponseBase:
    return table_file(request, customer_table())


@allowed(access.may_use_desk)
@require_safe
def detail(request: StaffRequest, pk: int) -> HttpResponse:
    customer = find_row(Customer.objects, pk=pk)
    return render(
        request,
        "customers/detail.html",
        {"page": customer_page(customer, number=page_number(request), viewer=request.user)},
    )


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(Customer.objects, pk=pk)
    form = CustomerForm(
        _posted(request), initial={**customer_values(row), "version": row.version}, locale=locale_of(request)
    )
    by = actor_of(request)

    def save() -> str:
        saved = edit_customer(row.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return resolve_url("customers:detail", pk=saved.pk)

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=customer_values)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    context = {"page": customer_edit_page(row, conflict=sent.conflict), "form": form}
    return render(request, "customers/edit.html", context, status=sent.status)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def vessel(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(Vessel.objects, pk=pk)
    form = VesselForm(
        _posted(request), initial={**vessel_values(row), "version": row.version}, locale=locale_of(request)
    )
    by = actor_of(request)

    def save() -> str:
        saved = edit_vessel(row.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return resolve_url("customers:vessel", pk=saved.pk)

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=vessel_values)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    typed = (request.POST or request.GET).get("hull_number", row.hull_number)
    page = vessel_page(row, hull_number=typed[:_LONGEST_QUESTION], conflict=sent.conflict)
    context = {"page": page, "form": form}
    return answer(request, "customers/vessel.html", "hull-remark", context, status=sent.status)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def engine(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(Engine.objects.select_related("laid_up_by", "laid_up_on__work_order"), pk=pk)
    mounting = mounting_now(row.pk)
    values = engine_values(row, mounting=mounting)
    form = EngineForm(
        _posted(request),
        initial={**values, "version": row.version},
        locale=locale_of(request),
        families=offered_families(besides=row.family_id),
    )
    by = actor_of(request)

    def save() -> str:
        saved = edit_engine(row.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return resolve_url("customers:engine", pk=saved.pk)

    sent = sent_edit(
        request,
        form=form,
        deed=save,
        by=by,
        values_of=lambda saved: engine_values(saved, mounting=mounting_now(saved.pk)),
    )
    if sent.location:
        return HttpResponseRedirect(sent.location)
    page = engine_page(row, mounting=mounting, conflict=sent.conflict)
    return render(request, "customers/engine.html", {"page": page, "form": form}, status=sent.status)


@allowed(access.may_use_desk)
@require_POST
def put_in_service(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = find_row(Engine.objects, pk=pk), actor_of(request)

    def effect() -> str:
        put_engine_in_service(row.pk, by=by)
        return resolve_url("customers:engine", pk=row.pk)

    return HttpResponseRedirect(once(request, effect, by=by))


def _posted(request: HttpRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None

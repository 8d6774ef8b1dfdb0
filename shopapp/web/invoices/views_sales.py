"""A sale over the counter: the total is shown first, then the money is taken."""

from functools import partial
from typing import cast

from django.db import transaction
from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from shopapp import access
from shopapp.actions.bill_sums import Figures
from shopapp.actions.counter_sales import sale_figures, sell_over_counter
from shopapp.context import locale_of
from shopapp.queries.arrivals import payers_of
from shopapp.queries.counter_sales import SalePage, sale_page
from shopapp.tasks import make_invoice_paper
from shopapp.web.invoices.forms_sales import SaleForm
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def counter_sale(request: StaffRequest) -> HttpResponse:
    fitting = payers_of(request.POST.get("whose", "").strip())
    form = SaleForm(request.POST or None, fitting=fitting, locale=locale_of(request))
    if request.method != "POST" or not form.is_valid():
        return _page(request, form, figures=None, status=422 if form.is_bound else 200)
    by = actor_of(request)
    figures = attempt(form, lambda: sale_figures(form.as_input(), by=by))
    if figures is None or form.cleaned_data["seen"] != figures.total_minor:
        # the total is shown before anything is sold
        return _page(request, form, figures=figures, status=422 if figures is None else 200)
    return _sold(request, form, figures=figures)


def _sold(request: StaffRequest, form: SaleForm, *, figures: Figures) -> HttpResponse:
    by = actor_of(request)

    def effect() -> str:
        sale = sell_over_counter(form.as_input(), seen_minor=figures.total_minor, by=by)
        transaction.on_commit(partial(make_invoice_paper.enqueue, sale.pk), robust=True)
        return reverse("invoices:detail", args=[sale.pk])

    location = attempt(form, lambda: once(request, effect, by=by))
    if location is None:
        return _page(request, form, figures=None, status=422)
    return HttpResponseRedirect(location)


def _page(request: StaffRequest, form: SaleForm, *, figures: Figures | None, status: int) -> HttpResponse:
    page: SalePage = sale_page(
        lines=[one.line for one in figures.drawn] if figures is not None else (),
        taxes=figures.taxes if figures is not None else (),
        total_minor=figures.total_minor if figures is not None else None,
    )
    if form.is_bound and figures is not None:
        data = cast("QueryDict", form.data).copy()
        data["seen"] = str(figures.total_minor)
        form.data = data
    return render(request, "invoices/counter_sale.html", {"page": page, "form": form}, status=status)

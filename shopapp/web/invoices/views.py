"""Pages of the invoices room: list, draft, issue, money in, paper."""

from dataclasses import dataclass
from functools import partial

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.actions.payments import take_payment
from shopapp.context import Display, display
from shopapp.documents.invoices import invoice_pdf
from shopapp.documents.renderer import RenderFailed
from shopapp.models import Invoice
from shopapp.queries.invoice_pages import InvoicePage, invoice_page
from shopapp.queries.invoices import invoice_list
from shopapp.tasks import make_invoice_paper
from shopapp.web.invoices.forms import PaymentForm
from shopapp.web.shared.once import once
from shopapp.web.shared.paging import page_number
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import (
    StaffRequest,
    actor_of,
    allowed,
    find_row,
    find_work_order,
    today_of,
)


@dataclass(frozen=True, kw_only=True)
class PaperFailed:
    """Why there is no paper just now."""

    pk: int
    number: str
    sentence: str


@allowed(access.may_use_desk)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    is_open_only = request.GET.get("show") != "all"
    page = invoice_list(is_open_only=is_open_only, page=page_number(request), today=today_of(request))
    return render(request, "invoices/index.html", {"page": page})


@allowed(access.may_use_desk)
@require_POST
def draft(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    return HttpResponseRedirect(once(request, lambda: _address(draft_invoice(work_order.pk, by=by)), by=by))


@allowed(access.may_use_desk)
@require_safe
def detail(request: StaffRequest, pk: int) -> HttpResponse:
    page = _find_page(request, pk)
    form = PaymentForm(locale=_display(request).locale, initial={"amount": page.balance, "method": "card"})
    return render(request, "invoices/detail.html", {"page": page, "form": form})


@allowed(access.may_use_desk)
@require_POST
def issue(request: StaffRequest, pk: int) -> HttpResponse:
    invoice, by = find_row(Invoice.objects, pk=pk), actor_of(request)

    def effect() -> str:
        issued = issue_invoice(invoice.pk, by=by)
        transaction.on_commit(partial(make_invoice_paper.enqueue, issued.pk), robust=True)
        return _address(issued)

    return HttpResponseRedirect(once(request, effect, by=by))


@allowed(access.may_use_desk)
@require_POST
def pay(request: StaffRequest, pk: int) -> HttpResponse:
    invoice, by = find_row(Invoice.objects, pk=pk), actor_of(request)
    form = PaymentForm(request.POST, locale=_display(request).locale)

    def effect() -> str:
        take_payment(invoice.pk, form.as_input(), by=by)
        return _address(invoice)

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("The payment is booked. Its receipt stands under “Money received”."))
        return HttpResponseRedirect(location)
    context = {"page": _find_page(request, pk), "form": form}
    return render(request, "invoices/detail.html", context, status=422)


@allowed(access.may_use_desk)
@require_safe
def paper(request: StaffRequest, pk: int) -> HttpResponse:
    invoice: Invoice = find_row(Invoice.objects.filter(issued_at__isnull=False), pk=pk)
    try:
        pdf = invoice_pdf(invoice)
    except RenderFailed as failure:
        page = PaperFailed(pk=invoice.pk, number=str(invoice), sentence=failure.sentence)
        return render(request, "invoices/paper_failed.html", {"page": page}, status=503)
    name = content_disposition_header(as_attachment=False, filename=f"{invoice.number}.pdf")
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": name or "inline"}
    )


def _find_page(request: StaffRequest, pk: int) -> InvoicePage:
    page = invoice_page(pk, today=today_of(request))
    if page is None:
        raise Http404
    return page


def _display(request: StaffRequest) -> Display:
    return display(request)["display"]


def _address(invoice: Invoice) -> str:
    return reverse("invoices:detail", args=[invoice.pk])

"""Money beside the bill: deposits, what is given back, receipts, the credit note, and tables of it all."""

from functools import partial

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from shopapp import access
from shopapp.actions.credit_notes import credit_invoice
from shopapp.actions.payments import give_refund, take_deposit
from shopapp.context import locale_of
from shopapp.documents.receipts import receipt_pdf
from shopapp.documents.renderer import RenderFailed
from shopapp.models import Invoice, Payment
from shopapp.queries.deposits import deposit_page, payment_texts
from shopapp.queries.tables import invoice_table, payment_table
from shopapp.tasks import make_invoice_paper
from shopapp.web.invoices.form_pages import FormPage
from shopapp.web.invoices.forms import PaymentForm, ReasonForm, RefundForm
from shopapp.web.shared.downloads import table_file
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row, find_work_order


@allowed(access.may_use_desk)
@require_safe
def table(request: StaffRequest) -> HttpResponseBase:
    return table_file(request, invoice_table())


@allowed(access.may_use_desk)
@require_safe
def payments(request: StaffRequest) -> HttpResponseBase:
    return table_file(request, payment_table())


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def deposits(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    form = PaymentForm(request.POST or None, locale=locale_of(request), initial={"method": "card"})
    here = reverse("invoices:deposits", args=[work_order.pk])

    def effect() -> str:
        take_deposit(work_order.pk, form.as_input(), by=by)
        return here

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("The deposit is booked. It comes off the next invoice."))
        return HttpResponseRedirect(location)
    page = FormPage(
        title=_("Deposits on %s") % work_order.number,
        lede=_("Money taken before there is a bill. It carries no tax of its own."),
        button=_("Book the deposit"),
        back_url=reverse("work_orders:detail", args=[work_order.pk]),
        back_word=_("Back to the work order"),
        money=deposit_page(work_order),
    )
    status = 422 if form.is_bound else 200
    return render(request, "invoices/form.html", {"page": page, "form": form}, status=status)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def refund(request: StaffRequest, pk: int) -> HttpResponse:
    payment, by = _payment(pk), actor_of(request)
    texts = payment_texts(payment)
    form = RefundForm(
        request.POST or None,
        locale=locale_of(request),
        initial={"amount": texts.left_coins, "method": payment.method},
    )
    back = _back(payment)

    def effect() -> str:
        give_refund(payment.pk, form.as_input(), by=by)
        return back

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("What was given back is booked."))
        return HttpResponseRedirect(location)
    page = FormPage(
        title=_("Give money back"),
        lede=_("Of payment %(number)s (%(amount)s) %(left)s pays nothing.")
        % {"number": texts.number, "amount": texts.amount, "left": texts.left},
        button=_("Book what was given back"),
        back_url=back,
        back_word=_("Back"),
    )
    status = 422 if form.is_bound else 200
    return render(request, "invoices/form.html", {"page": page, "form": form}, status=status)


@allowed(access.may_use_desk)
@require_safe
def receipt(request: StaffRequest, pk: int) -> HttpResponse:
    payment = _payment(pk)
    try:
        pdf = receipt_pdf(payment)
    except RenderFailed as failure:
        return render(request, "refused.html", {"sentence": failure.sentence}, status=503)
    name = content_disposition_header(
        as_attachment=False, filename=f"{payment.number or f'receipt-{payment.pk}'}.pdf"
    )
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": name or "inline"}
    )


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def credit(request: StaffRequest, pk: int) -> HttpResponse:
    invoice: Invoice = find_row(Invoice.objects.filter(issued_at__isnull=False), pk=pk)
    by, form = actor_of(request), ReasonForm(request.POST or None)

    def effect() -> str:
        note = credit_invoice(invoice.pk, form.cleaned_data["reason"], by=by)
        transaction.on_commit(partial(make_invoice_paper.enqueue, note.pk), robust=True)
        return reverse("invoices:detail", args=[note.pk])

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        return HttpResponseRedirect(location)
    page = FormPage(
        title=_("Credit invoice %s") % invoice.number,
        lede=_("The whole invoice is taken back by a credit note. The invoice itself stays as it is."),
        button=_("Yes, credit the whole invoice"),
        back_url=reverse("invoices:detail", args=[invoice.pk]),
        back_word=_("Back to the invoice"),
        caution=_(
            "What it billed may be billed again. What was paid of it is free: it comes off the next bill of "
            "this visit, or you give it back."
        ),
    )
    status = 422 if form.is_bound else 200
    return render(request, "invoices/form.html", {"page": page, "form": form}, status=status)


def _payment(pk: int) -> Payment:
    rows = Payment.objects.select_related(
        "taken_by", "invoice__customer", "work_order__customer", "work_order__vessel"
    )
    row: Payment = find_row(rows, pk=pk)
    return row


def _back(payment: Payment) -> str:
    if payment.work_order_id is not None:
        return reverse("invoices:deposits", args=[payment.work_order_id])
    return reverse("invoices:detail", args=[payment.invoice_id])

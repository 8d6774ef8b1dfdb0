"""A draft under the hand: what is left out, words, discounts, an added fee, and the owner's word."""

from collections.abc import Callable, Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import invoice_drafts, invoices
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_e4
from shopapp.context import locale_of
from shopapp.models import Invoice, InvoiceLine, Payer
from shopapp.queries.invoice_checks import check_page, rows_from
from shopapp.web.invoices.form_pages import FormPage
from shopapp.web.invoices.forms import BeyondForm, DraftForm, FeeForm, LineForm
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.forms import VersionedForm
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row

DRAFTS = Invoice.objects.filter(issued_at=None, work_order__isnull=False)
PER_CENT = 100


@allowed(access.may_use_desk)
@require_safe
def check(request: StaffRequest, pk: int) -> HttpResponse:
    return _check(request, pk, form=None)


@allowed(access.may_use_desk)
@require_POST
def redraft(request: StaffRequest, pk: int) -> HttpResponse:
    draft, by, version = _draft(pk), actor_of(request), _version(request)
    return _done(request, lambda: invoices.redraft_invoice(draft.pk, version=version, by=by).pk)


@allowed(access.may_use_desk)
@require_POST
def discard(request: StaffRequest, pk: int) -> HttpResponse:
    draft, by, version = _draft(pk), actor_of(request), _version(request)

    def effect() -> str:
        invoices.discard_draft(draft.pk, version=version, by=by)
        return reverse("work_orders:detail", args=[draft.work_order_id])

    location = once(request, effect, by=by)
    messages.success(request, _("The draft is thrown away. What it would have billed is still to be billed."))
    return HttpResponseRedirect(location)


@allowed(access.may_use_desk)
@require_POST
def take_in(request: StaffRequest, pk: int) -> HttpResponse:
    draft, by, version = _draft(pk), actor_of(request), _version(request)
    rows = rows_from(request.POST.get("rows", ""))
    return _done(request, lambda: invoice_drafts.take_in(draft.pk, rows, version=version, by=by).pk)


@allowed(access.may_use_desk)
@require_POST
def keep(request: StaffRequest, pk: int) -> HttpResponse:
    draft, by, version = _draft(pk), actor_of(request), _version(request)
    return _done(request, lambda: invoice_drafts.keep_draft(draft.pk, version=version, by=by).pk)


@allowed(access.may_use_desk)
@require_POST
def leave_out(request: StaffRequest, pk: int) -> HttpResponse:
    line, by, version = _line(pk), actor_of(request), _version(request)
    return _done(request, lambda: invoice_drafts.leave_out(line.pk, version=version, by=by).pk)


@allowed(access.may_see_costs)
@require_POST
def beyond(request: StaffRequest, pk: int) -> HttpResponse:
    draft, by = _draft(pk), actor_of(request)
    form = BeyondForm(request.POST)

    def effect() -> str:
        typed = form.cleaned_data
        return _address(
            invoice_drafts.bill_beyond(draft.pk, typed["reason"], version=typed["version"], by=by).pk
        )

    if not form.is_valid():
        return _check(request, pk, form=form)
    return HttpResponseRedirect(once(request, effect, by=by))


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    draft, by = _draft(pk), actor_of(request)
    locale = locale_of(request)
    form = DraftForm(request.POST or None, locale=locale, initial=_draft_values(draft) | _version_of(draft))

    def deed() -> str:
        typed = form.cleaned_data
        return _address(
            invoice_drafts.edit_draft(draft.pk, form.as_input(), version=typed["version"], by=by).pk
        )

    page = _page(
        draft.pk,
        title=_("Purchase order and discount"),
        lede=_("They stand for the whole bill."),
        button=_("Save"),
    )
    return _form_answer(request, form, deed=deed, page=page, values_of=_draft_values)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def add_fee(request: StaffRequest, pk: int) -> HttpResponse:
    draft, by = _draft(pk), actor_of(request)
    form = FeeForm(request.POST or None, locale=locale_of(request), initial=_version_of(draft))

    def deed() -> str:
        version = form.cleaned_data["version"]
        return _address(invoice_drafts.add_fee(draft.pk, form.as_input(), version=version, by=by).pk)

    page = _page(
        draft.pk,
        title=_("Add a fee"),
        lede=_("A line that is not on the plan and was not logged. It counts towards what was agreed."),
        button=_("Add it"),
    )
    return _form_answer(request, form, deed=deed, page=page, values_of=_nothing)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def line(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = _line(pk), actor_of(request)
    initial = {
        "description": row.description,
        "discount": from_e4(row.discount_e4) * PER_CENT,
        "is_goodwill": row.payer == Payer.SHOP,
        "note": row.note,
    }
    form = LineForm(
        request.POST or None, locale=locale_of(request), initial=initial | _version_of(row.invoice)
    )

    def deed() -> str:
        version = form.cleaned_data["version"]
        return _address(invoice_drafts.change_line(row.pk, form.as_input(), version=version, by=by).pk)

    page = _page(
        row.invoice_id,
        title=_("A line of this bill"),
        lede=_("Only this bill changes; the plan and what was logged stay as they are."),
        button=_("Save"),
    )
    return _form_answer(request, form, deed=deed, page=page, values_of=_nothing)


def _form_answer(
    request: StaffRequest,
    form: VersionedForm,
    *,
    deed: Callable[[], str],
    page: Callable[..., FormPage],
    values_of: Callable[[Any], Mapping[str, Any]],
) -> HttpResponse:
    outcome = sent_edit(request, form=form, deed=deed, by=actor_of(request), values_of=values_of)
    if outcome.location:
        return HttpResponseRedirect(outcome.location)
    context = {"page": page(conflict=outcome.conflict), "form": form}
    return render(request, "invoices/form.html", context, status=outcome.status)


def _check(request: StaffRequest, pk: int, *, form: BeyondForm | None) -> HttpResponse:
    draft: Invoice = find_row(DRAFTS.select_related("work_order", "customer"), pk=pk)
    page = check_page(draft, viewer=request.user)
    shown = form or BeyondForm(initial=_version_of(draft))
    return render(
        request, "invoices/check.html", {"page": page, "form": shown}, status=200 if form is None else 422
    )


def _page(pk: int, *, title: str, lede: str, button: str) -> Callable[..., FormPage]:
    def made(**more: Any) -> FormPage:
        return FormPage(
            title=title,
            lede=lede,
            button=button,
            back_url=_address(pk),
            back_word=_("Back to the draft"),
            **more,
        )

    return made


def _done(request: StaffRequest, deed: Callable[[], int]) -> HttpResponse:
    return HttpResponseRedirect(once(request, lambda: _address(deed()), by=actor_of(request)))


def _draft(pk: int) -> Invoice:
    row: Invoice = find_row(DRAFTS, pk=pk)
    return row


def _line(pk: int) -> InvoiceLine:
    rows = InvoiceLine.objects.filter(invoice__issued_at=None, invoice__work_order__isnull=False)
    row: InvoiceLine = find_row(rows.select_related("invoice"), pk=pk)
    return row


def _version(request: StaffRequest) -> int:
    sent = request.POST.get("version", "")
    if not (sent.isascii() and sent.isdigit() and len(sent) <= 9):
        raise BadInput("version", sent, _("the page of this draft, opened anew"))
    return int(sent)


def _version_of(draft: Invoice) -> dict[str, Any]:
    return {"version": draft.version}


def _draft_values(draft: Invoice) -> dict[str, Any]:
    share = from_e4(draft.discount_e4) * PER_CENT
    return {
        "purchase_order": draft.purchase_order,
        "discount": share if share else None,
        "discount_reason": draft.discount_reason,
    }


def _nothing(_row: Any) -> dict[str, Any]:
    return {}


def _address(pk: int) -> str:
    return reverse("invoices:detail", args=[pk])

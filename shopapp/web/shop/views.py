"""The owner sets the terms and fees of the shop."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shopapp import access
from shopapp.actions.shop_chances import edit_chances
from shopapp.actions.shop_terms import add_fee_rate, edit_terms, remove_fee_rate
from shopapp.context import locale_of
from shopapp.models import FeeRate
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_terms import terms_page
from shopapp.queries.versions import Conflict
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row
from shopapp.web.shop.forms import FeeForm, TermsForm, terms_values
from shopapp.web.shop.forms_chances import ChancesForm, chances_values


@allowed(access.may_set_terms)
@require_http_methods(["GET", "HEAD", "POST"])
def terms(request: StaffRequest) -> HttpResponse:
    form, by = _terms_form(request), actor_of(request)

    def save() -> str:
        edit_terms(form.as_input(), version=form.cleaned_data["version"], by=by)
        return reverse("shop:terms")

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=terms_values)
    if sent.location:
        messages.success(request, _("The terms are saved. They count for boats that come in from now on."))
        return HttpResponseRedirect(sent.location)
    return _page(request, form=form, status=sent.status, conflict=sent.conflict)


@dataclass(frozen=True, kw_only=True)
class ChancesPage:
    """What somebody else saved meanwhile."""

    conflict: Conflict | None


@allowed(access.may_set_terms)
@require_http_methods(["GET", "HEAD", "POST"])
def chances(request: StaffRequest) -> HttpResponse:
    shop, by = the_shop(), actor_of(request)
    initial = {**chances_values(shop), "version": shop.version}
    form = ChancesForm(request.POST or None, initial=initial, locale=locale_of(request))

    def save() -> str:
        edit_chances(form.as_input(), version=form.cleaned_data["version"], by=by)
        return reverse("shop:chances")

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=chances_values)
    if sent.location:
        messages.success(request, _("Saved. It counts for quotes that are written from now on."))
        return HttpResponseRedirect(sent.location)
    page = ChancesPage(conflict=sent.conflict)
    return render(request, "shop/chances.html", {"page": page, "form": form}, status=sent.status)


@allowed(access.may_set_terms)
@require_POST
def add_fee(request: StaffRequest) -> HttpResponse:
    form, by = FeeForm(request.POST, locale=locale_of(request)), actor_of(request)

    def effect() -> str:
        add_fee_rate(form.as_input(), by=by)
        return reverse("shop:terms")

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        return HttpResponseRedirect(location)
    return _page(request, form=_terms_form(request, is_fresh=True), fee=form, status=422)


@allowed(access.may_set_terms)
@require_POST
def remove_fee(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = find_row(FeeRate.objects, pk=pk), actor_of(request)

    def effect() -> str:
        remove_fee_rate(row.pk, by=by)
        return reverse("shop:terms")

    return HttpResponseRedirect(once(request, effect, by=by))


def _terms_form(request: StaffRequest, *, is_fresh: bool = False) -> TermsForm:
    shop = the_shop()
    data = request.POST if request.method == "POST" and not is_fresh else None
    return TermsForm(data, initial={**terms_values(shop), "version": shop.version}, locale=locale_of(request))


def _page(
    request: StaffRequest,
    *,
    form: TermsForm,
    fee: FeeForm | None = None,
    status: int = 200,
    conflict: Conflict | None = None,
) -> HttpResponse:
    forms = {"fee": fee or FeeForm(auto_id="fee_%s", locale=locale_of(request))}
    page = terms_page(the_shop(), conflict=conflict)
    context = {"page": page, "form": fee if fee is not None else form, "forms": forms | {"terms": form}}
    return render(request, "shop/terms.html", context, status=status)

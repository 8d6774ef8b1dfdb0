"""Terms of a draft: how a job is billed, discount on the whole, minimum charge; and parts to pick from."""

from dataclasses import dataclass

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import quote_terms
from shopapp.calc.errors import BadInput
from shopapp.context import locale_of
from shopapp.models import PriceKind, QuoteChoice, QuoteOption, QuoteRevision, RevisionState
from shopapp.queries.parts import suggestions
from shopapp.queries.versions import Conflict
from shopapp.web.quotes.forms import DiscountForm, PriceKindForm, discount_values
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@dataclass(frozen=True, kw_only=True)
class DiscountPage:
    """What the page shows besides its form."""

    pk: int
    number: str
    conflict: Conflict | None


@require_POST
@allowed(access.may_price)
def set_price_kind(request: StaffRequest, pk: int) -> HttpResponse:
    choice: QuoteChoice = find_row(QuoteChoice.objects, pk=pk)
    form, by = PriceKindForm(request.POST), actor_of(request)
    if not form.is_valid():
        raise BadInput(
            _("how it is billed"), request.POST.get("price_kind", ""), _("one of the ways in the list")
        )
    kind = PriceKind(form.cleaned_data["price_kind"])

    def effect() -> str:
        return reverse("quotes:edit", args=[quote_terms.set_price_kind(choice.pk, kind, by=by).pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.may_price)
def discount(request: StaffRequest, pk: int) -> HttpResponse:
    revision: QuoteRevision = find_row(QuoteRevision.objects.select_related("quote").defer("shown"), pk=pk)
    if request.method == "GET" and revision.state != RevisionState.DRAFT:
        return redirect("quotes:preview", pk)
    initial = {**discount_values(revision), "version": revision.version}
    form = DiscountForm(request.POST or None, initial=initial, locale=locale_of(request))
    by = actor_of(request)

    def save() -> str:
        quote_terms.set_discount(pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return reverse("quotes:edit", args=[pk])

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=discount_values)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    page = DiscountPage(pk=pk, number=revision.quote.number, conflict=sent.conflict)
    return render(request, "quotes/discount.html", {"page": page, "form": form}, status=sent.status)


@require_POST
@allowed(access.may_price)
def add_minimum_charge(request: StaffRequest, pk: int) -> HttpResponse:
    option: QuoteOption = find_row(QuoteOption.objects, pk=pk)
    by = actor_of(request)

    def effect() -> str:
        changed = quote_terms.add_minimum_charge(option.pk, by=by)
        return f"{reverse('quotes:edit', args=[changed.choice.revision_id])}#quote-lines-{changed.pk}"

    return HttpResponseRedirect(once(request, effect, by=by))


@require_safe
@allowed(access.may_price)
def known_parts(request: StaffRequest) -> HttpResponse:
    found = suggestions(request.GET.get("number", "")[:40])
    return render(request, "quotes/known_parts.html", {"page": found})

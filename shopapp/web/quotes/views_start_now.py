"""Start now, by phone yes: one page from a job, one step."""

from dataclasses import dataclass
from decimal import Decimal

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shopapp import access
from shopapp.actions import start_now as calls
from shopapp.models import Job, PriceKind, QuoteOption
from shopapp.queries.answering import MaySay, Sums, sums_with, who_may_say
from shopapp.queries.approvals import approved_option, authorised
from shopapp.queries.shop import the_shop
from shopapp.web.quotes.forms_answers import FixedStartNowForm, StartNowForm, call_values
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_job


@dataclass(frozen=True, kw_only=True)
class StartNowPage:
    """The job, who may say yes, and what it would come to with the amount typed so far."""

    pk: int
    work_order_pk: int
    number: str
    position: int
    complaint: str
    is_extra: bool
    is_fixed: bool
    people: tuple[MaySay, ...]
    sums: Sums


@allowed(access.may_price)
@require_http_methods(["GET", "HEAD", "POST"])
def start_now(request: StaffRequest, pk: int) -> HttpResponse:
    job = find_job(request, pk)
    agreed = approved_option(job)
    if request.method == "POST" and request.POST.get("answer") == "start":
        return _start(request, job, agreed=agreed)
    is_fixed = _is_fixed(job, agreed=agreed)
    typed = _form(request, job, is_bound=request.method == "POST", is_fixed=is_fixed)
    page = _page(job, form=typed, agreed=agreed)
    # what was typed so far stays, but nobody is told off for what they have not come to yet
    shown = _form(request, job, is_bound=False, is_fixed=is_fixed)
    shown.initial = {**shown.initial, **request.POST.dict()}
    return answer(request, "quotes/start_now.html", "start-now-total", {"page": page, "form": shown})


def _start(request: StaffRequest, job: Job, *, agreed: QuoteOption | None) -> HttpResponse:
    form = _form(request, job, is_bound=True, is_fixed=_is_fixed(job, agreed=agreed))
    by = actor_of(request)

    def effect() -> str:
        calls.start_now(job.pk, form.as_input(), by=by)
        return f"{reverse('work_orders:detail', args=[job.work_order_id])}#job-{job.pk}"

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("Written down, and the job is in hand."))
        return HttpResponseRedirect(location)
    page = _page(job, form=form, agreed=agreed)
    return render(request, "quotes/start_now.html", {"page": page, "form": form}, status=422)


def _is_fixed(job: Job, *, agreed: QuoteOption | None) -> bool:
    return agreed is not None and job.price_kind == PriceKind.FIXED


def _form(request: StaffRequest, job: Job, *, is_bound: bool, is_fixed: bool) -> StartNowForm:
    shop, customer = the_shop(), job.work_order.customer
    kind = FixedStartNowForm if is_fixed else StartNowForm
    return kind(
        request.POST if is_bound else None,
        locale=shop.locale,
        zone=shop.time_zone,
        initial=call_values(name=customer.name, phone=customer.phone, at=timezone.now()),
    )


def _page(job: Job, *, form: StartNowForm, agreed: QuoteOption | None) -> StartNowPage:
    form.is_valid()
    adds = form.cleaned_data.get("at_most") if form.is_bound else None
    return StartNowPage(
        pk=job.pk,
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        position=job.position,
        complaint=job.complaint,
        is_extra=agreed is not None,
        is_fixed=_is_fixed(job, agreed=agreed),
        people=who_may_say(job.work_order),
        sums=sums_with(authorised(job.work_order).agreed_minor, adds or Decimal(0), shop=the_shop()),
    )

"""Which jobs a quote asks about: chosen before it is begun, added and left out while it is a draft."""

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions import quote_jobs, quote_undo
from shopapp.calc.errors import BadInput
from shopapp.models import QuoteChoice, QuoteRevision, Removed, RevisionState
from shopapp.queries.quote_jobs import choose_page, draft_jobs_page
from shopapp.web.quotes.forms import ChosenJobForm, chosen_jobs
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row, find_work_order


@require_safe
@allowed(access.may_price)
def choose(request: StaffRequest, pk: int) -> HttpResponse:
    page = choose_page(find_work_order(request, pk))
    return render(request, "quotes/choose.html", {"page": page})


@require_POST
@allowed(access.may_price)
def start_supplement(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    chosen = chosen_jobs(request.POST)

    def effect() -> str:
        draft = quote_jobs.start_supplement(work_order.pk, jobs=chosen, by=by)
        return reverse("quotes:edit", args=[draft.pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_safe
@allowed(access.may_price)
def jobs(request: StaffRequest, pk: int) -> HttpResponse:
    revision: QuoteRevision = find_row(QuoteRevision.objects.defer("shown"), pk=pk)
    if revision.state != RevisionState.DRAFT:
        return redirect("quotes:preview", pk)
    return render(request, "quotes/jobs.html", {"page": draft_jobs_page(pk)})


@require_POST
@allowed(access.may_price)
def add_job(request: StaffRequest, pk: int) -> HttpResponse:
    revision: QuoteRevision = find_row(QuoteRevision.objects.defer("shown"), pk=pk)
    form, by = ChosenJobForm(request.POST), actor_of(request)
    if not form.is_valid():
        raise BadInput(_("job"), request.POST.get("job", ""), _("a job of this work order"))

    def effect() -> str:
        quote_jobs.add_job(revision.pk, form.cleaned_data["job"], by=by)
        return reverse("quotes:edit", args=[revision.pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_POST
@allowed(access.may_price)
def leave_job_out(request: StaffRequest, pk: int) -> HttpResponse:
    choice: QuoteChoice = find_row(QuoteChoice.objects, pk=pk)
    by = actor_of(request)

    def effect() -> str:
        return reverse("quotes:edit", args=[quote_jobs.leave_job_out(choice.pk, by=by).pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_POST
@allowed(access.may_price)
def put_back(request: StaffRequest, pk: int) -> HttpResponse:
    removed: Removed = find_row(Removed.objects, pk=pk)
    by = actor_of(request)

    def effect() -> str:
        return reverse("quotes:edit", args=[quote_undo.put_back(removed.pk, by=by).pk])

    return HttpResponseRedirect(once(request, effect, by=by))

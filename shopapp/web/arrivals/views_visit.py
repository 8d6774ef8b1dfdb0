"""After a boat was taken in: what came, photos, terms and people, and the tablet for the customer."""

from dataclasses import replace
from functools import partial

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.messages import get_messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import photos
from shopapp.actions.arrival_facts import edit_arrival
from shopapp.actions.intakes import open_intake, sign_intake, write_terms
from shopapp.actions.refusals import Refused
from shopapp.actions.visit_people import edit_people
from shopapp.context import display, locale_of
from shopapp.documents.canonical import canonical, digest
from shopapp.files.photos import store_photo
from shopapp.models import WorkOrder
from shopapp.queries.arrival_facts import arrival_facts, arrival_facts_page
from shopapp.queries.taken_in import TakenInPage, taken_in_page
from shopapp.queries.visit_people import people_page
from shopapp.queries.visit_terms import intake_values, terms_page
from shopapp.web.arrivals.forms_custody import PaperSignatureForm, PhotoForm
from shopapp.web.arrivals.forms_terms import ArrivalFactsForm, PeopleForm, TermsForm
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.htmx import wants_part
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_work_order

_LONGEST_TYPED = 120


@allowed(access.may_use_desk)
@require_safe
def taken_in(request: StaffRequest, pk: int) -> HttpResponse:
    return _taken_in(request, find_work_order(request, pk))


def _taken_in(
    request: StaffRequest,
    work_order: WorkOrder,
    *,
    photo: PhotoForm | None = None,
    paper: PaperSignatureForm | None = None,
) -> HttpResponse:
    page = taken_in_page(work_order, at=timezone.now())
    sent = photo or paper
    forms = {
        "photo": photo or PhotoForm(),
        "paper": paper or PaperSignatureForm(initial={"signed_name": page.facts["customer"]["name"]}),
    }
    forms["paper"].initial["seen"] = _seen(page)
    context = {"page": page, "form": sent, "forms": forms}
    return render(request, "arrivals/taken_in.html", context, status=422 if sent else 200)


def _seen(page: TakenInPage) -> str:
    """The hash of the sheet that the page shows, for whoever signs it on paper."""
    return "" if page.terms is None else digest(canonical(page.terms.content))


@allowed(access.may_use_desk)
@require_POST
def add_photo(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by, form = (
        find_work_order(request, pk),
        actor_of(request),
        PhotoForm(request.POST, request.FILES),
    )
    job = work_order.jobs.order_by("position").first()
    if job is None:
        raise Refused(_("This work order has no job, so it takes no photos."))
    # the picture is made and synced to disk before any transaction begins
    data = attempt(form, lambda: _stored(form)) if form.is_valid() else None
    if data is None:
        return _taken_in(request, work_order, photo=form)

    def effect() -> str:
        photos.add_photo(job.pk, data, by=by)
        return _back(pk)

    location = once(request, effect, by=by)
    messages.success(request, _("The photo is kept."))
    return HttpResponseRedirect(location)


def _stored(form: PhotoForm) -> photos.PhotoInput:
    upload = form.cleaned_data["photo"]
    stored = store_photo(upload, name=upload.name)
    return photos.PhotoInput(stored=stored, caption=form.cleaned_data["caption"], is_of_arrival=True)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def terms(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    page, shown = terms_page(work_order), display(request)["display"]
    form = TermsForm(request.POST or None, page=page, locale=shown.locale)

    def deed() -> str:
        write_terms(pk, form.terms(), version=form.cleaned_data["version"], by=by)
        return _back(pk)

    values_of = partial(intake_values, currency=shown.currency)
    outcome = sent_edit(request, form=form, deed=deed, by=by, values_of=values_of)
    if outcome.location:
        return HttpResponseRedirect(outcome.location)
    context = {"page": replace(page, conflict=outcome.conflict), "form": form}
    return render(request, "arrivals/terms.html", context, status=outcome.status)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    initial = {**arrival_facts(work_order), "version": work_order.version}
    form = ArrivalFactsForm(request.POST or None, initial=initial)

    def deed() -> str:
        edit_arrival(pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return reverse("work_orders:detail", args=[pk])

    outcome = sent_edit(request, form=form, deed=deed, by=by, values_of=arrival_facts)
    if outcome.location:
        return HttpResponseRedirect(outcome.location)
    context = {"page": arrival_facts_page(work_order, conflict=outcome.conflict), "form": form}
    return render(request, "arrivals/edit.html", context, status=outcome.status)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def people(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    page = people_page(work_order, payer=request.POST.get("payer", "")[:_LONGEST_TYPED])
    form = PeopleForm(request.POST or None, page=page, locale=locale_of(request))

    def effect() -> str:
        edit_people(pk, form.people(), purchase_order=form.cleaned_data["purchase_order"], by=by)
        return _back(pk)

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        return HttpResponseRedirect(location)
    context = {"page": page, "form": form}
    return render(request, "arrivals/people.html", context, status=422 if request.method == "POST" else 200)


@allowed(access.may_use_desk)
@require_POST
def sign_on_paper(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by, form = find_work_order(request, pk), actor_of(request), PaperSignatureForm(request.POST)
    intake = _unsigned(work_order)

    def effect() -> str:
        sign_intake(intake, form.as_input(), by=by)
        return _back(pk)

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _taken_in(request, work_order, paper=form)
    messages.success(request, _("The signature on paper is noted. Keep the sheet."))
    return HttpResponseRedirect(location)


@allowed(access.may_use_desk)
@require_POST
def hand_over(request: StaffRequest, pk: int) -> HttpResponse:
    # not by way of a request key: its stored outcome would hold the token, of which only a hash may be kept
    _link, token = open_intake(_unsigned(find_work_order(request, pk)), by=actor_of(request))
    # a message meant for the desk must not greet the customer
    list(get_messages(request))
    logout(request)
    location = reverse("approvals:enter_intake", args=[token])
    if wants_part(request):
        return HttpResponse(status=204, headers={"HX-Redirect": location})
    return HttpResponseRedirect(location)


def _unsigned(work_order: WorkOrder) -> int:
    found = work_order.intakes.filter(signed_at__isnull=True).values_list("pk", flat=True).first()
    if found is None:
        raise Refused(_("There are no terms to sign. Write them first."))
    return found


def _back(pk: int) -> str:
    return reverse("arrivals:taken_in", args=[pk])

"""A job: its findings, its page at the bench, and what is logged and proved there."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import actuals, job_tests, jobs, photos
from shopapp.actions.actor import Actor
from shopapp.context import locale_of
from shopapp.files.photos import store_photo
from shopapp.models import Job, TimeKind
from shopapp.queries.approvals import asking_revision
from shopapp.queries.job_pages import WorkPage, findings_page, work_jobs, work_page
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_job
from shopapp.web.shared.tablets import stay_here
from shopapp.web.work_orders.flags import flag
from shopapp.web.work_orders.forms import FindingsForm, PhotoForm, RecordTestForm, findings_of
from shopapp.web.work_orders.forms_log import LogFluidForm, LogTimeForm, UsePartForm
from shopapp.web.work_orders.forms_rows import PlannedForm
from shopapp.web.work_orders.said import finished, said

KIND_AT = {"diagnosis": TimeKind.DIAGNOSIS, "test": TimeKind.TEST}


@allowed(access.may_log_work)
@require_http_methods(["GET", "HEAD", "POST"])
def findings(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    data = request.POST if request.method == "POST" else None
    asking = asking_revision(job)
    initial = {**findings_of(job), "version": job.version}
    form = FindingsForm(data, initial=initial, is_shown=asking is not None)

    def deed() -> str:
        jobs.edit_findings(pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return reverse("work_orders:detail", args=[job.work_order_id])

    outcome = sent_edit(request, form=form, deed=deed, by=by, values_of=findings_of)
    if outcome.location:
        return HttpResponseRedirect(outcome.location)
    page = findings_page(job, viewer=request.user, asking=asking, conflict=outcome.conflict)
    context = {"page": page, "form": form}
    return render(request, "work_orders/findings.html", context, status=outcome.status)


@allowed(access.may_log_work)
@require_safe
def bench(request: StaffRequest, pk: int) -> HttpResponse:
    return _work(request, _page(request, pk))


@allowed(access.may_log_work)
@require_POST
def start_diagnosis(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    return _moved(request, job, by=by, deed=lambda: jobs.start_diagnosis(pk, by=by))


@allowed(access.may_log_work)
@require_POST
def start_work(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    return _moved(request, job, by=by, deed=lambda: jobs.start_work(pk, by=by))


@allowed(access.may_log_work)
@require_POST
def finish_work(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    answer = _moved(request, job, by=by, deed=lambda: jobs.finish_work(pk, by=by))
    messages.success(request, finished(job))
    return answer


def _moved(request: StaffRequest, job: Job, *, by: Actor, deed: Callable[[], Any]) -> HttpResponse:
    """Move the job once and go on at the bench; a refusal becomes a page of its own."""

    def effect() -> str:
        deed()
        # who pressed it on a tablet goes on there
        return reverse("bench:job" if stay_here(request) else "work_orders:bench", args=[job.pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@allowed(access.may_log_work)
@require_POST
def use_part(request: StaffRequest, pk: int) -> HttpResponse:
    page, by = _page(request, pk), actor_of(request)
    form = UsePartForm(request.POST, page=page, locale=locale_of(request))
    return _logged(request, page, form, by=by, deed=lambda: actuals.use_part(pk, form.as_input(), by=by))


@allowed(access.may_log_work)
@require_POST
def use_planned(request: StaffRequest, pk: int) -> HttpResponse:
    page, by = _page(request, pk), actor_of(request)
    form = PlannedForm(request.POST, page=page)
    return _logged(request, page, form, by=by, deed=lambda: form.deed(pk, by=by))


@allowed(access.may_log_work)
@require_POST
def log_time(request: StaffRequest, pk: int) -> HttpResponse:
    page, by = _page(request, pk), actor_of(request)
    form = LogTimeForm(request.POST, page=page, locale=locale_of(request))
    return _logged(request, page, form, by=by, deed=lambda: actuals.log_time(pk, form.as_input(), by=by))


@allowed(access.may_log_work)
@require_POST
def log_fluid(request: StaffRequest, pk: int) -> HttpResponse:
    page, by = _page(request, pk), actor_of(request)
    form = LogFluidForm(request.POST, page=page, locale=locale_of(request))
    return _logged(request, page, form, by=by, deed=lambda: actuals.log_fluid(pk, form.as_input(), by=by))


@allowed(access.may_log_work)
@require_POST
def record_test(request: StaffRequest, pk: int) -> HttpResponse:
    page, by, form = _page(request, pk), actor_of(request), RecordTestForm(request.POST)
    return _logged(request, page, form, by=by, deed=lambda: job_tests.record_test(pk, form.as_input(), by=by))


@allowed(access.may_log_work)
@require_POST
def add_photo(request: StaffRequest, pk: int) -> HttpResponse:
    page, by, form = _page(request, pk), actor_of(request), PhotoForm(request.POST, request.FILES)
    # the picture is made and synced to disk before any transaction begins
    data = attempt(form, lambda: _stored(form)) if form.is_valid() else None
    if data is None:
        return _work(request, page, failed=form)
    return _logged(request, page, form, by=by, deed=lambda: photos.add_photo(pk, data, by=by))


def _stored(form: PhotoForm) -> photos.PhotoInput:
    upload = form.cleaned_data["photo"]
    stored = store_photo(upload, name=upload.name)
    return photos.PhotoInput(stored=stored, caption=form.cleaned_data["caption"])


def _logged(
    request: StaffRequest, page: WorkPage, form: forms.Form, *, by: Actor, deed: Callable[[], Any]
) -> HttpResponse:
    """Log it once and go back to the page; or show the page again with what was typed and the message."""
    address, written = reverse("work_orders:bench", args=[page.pk]), []

    def effect() -> str:
        written.append(deed())
        return address

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _work(request, page, failed=form)
    messages.success(request, said(written[0] if written else None, locale=locale_of(request)))
    flag(request, written)
    return HttpResponseRedirect(location)


def _page(request: StaffRequest, pk: int) -> WorkPage:
    job = find_job(request, pk, rows=work_jobs())
    return work_page(job, viewer=request.user, locale=locale_of(request))


def _work(request: StaffRequest, page: WorkPage, *, failed: forms.Form | None = None) -> HttpResponse:
    fresh = {
        "part": UsePartForm(page=page, locale=locale_of(request)),
        "time": LogTimeForm(page=page, locale=locale_of(request), initial=_usual_time(request, page)),
        "fluid": LogFluidForm(page=page, locale=locale_of(request)),
        "photo": PhotoForm(),
        "test": RecordTestForm(),
    }
    shown = {name: failed if type(failed) is type(form) else form for name, form in fresh.items()}
    context = {"page": page, "form": failed, "forms": shown}
    return render(request, "work_orders/bench.html", context, status=422 if failed is not None else 200)


def _usual_time(request: StaffRequest, page: WorkPage) -> dict[str, Any]:
    kind = KIND_AT.get(page.stage.code, TimeKind.REPAIR)
    return {"person": request.user.pk, "kind": kind}

"""Steps of a job: shown with what is ticked, put on it, ticked, let go, struck out."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions import step_ticks
from shopapp.actions import steps as deeds
from shopapp.models import Job, JobStep, StepTick
from shopapp.queries.step_pages import steps_page
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_job, find_row
from shopapp.web.work_orders.forms_rows import StrikeForm
from shopapp.web.work_orders.forms_steps import (
    AddJointForm,
    AddStepForm,
    AddStepListForm,
    DeskTickForm,
    WaiveStepForm,
)


@allowed(access.may_log_work)
@require_safe
def steps(request: StaffRequest, pk: int) -> HttpResponse:
    return _page(request, find_job(request, pk))


@allowed(access.may_log_work)
@require_POST
def add_step(request: StaffRequest, pk: int) -> HttpResponse:
    job, by, form = find_job(request, pk), actor_of(request), AddStepForm(request.POST)

    def deed() -> object:
        return deeds.add_step(job.pk, form.as_input(), by=by)

    return _done(request, job, form=form, deed=deed, said=_("The step is on the job."))


@allowed(access.may_log_work)
@require_POST
def add_step_list(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    form = AddStepListForm(request.POST, page=steps_page(job, viewer=request.user))

    def deed() -> object:
        return deeds.add_step_list(job.pk, form.cleaned_data["list"], by=by)

    return _done(request, job, form=form, deed=deed, said=_("The steps of the list are on the job."))


@allowed(access.may_log_work)
@require_POST
def add_joint(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    form = AddJointForm(request.POST, page=steps_page(job, viewer=request.user))

    def deed() -> object:
        return deeds.add_joint(job.pk, form.as_input(), by=by)

    return _done(request, job, form=form, deed=deed, said=_("The joint is on the job."))


@allowed(access.may_log_work)
@require_POST
def tick(request: StaffRequest, pk: int) -> HttpResponse:
    (job, step), by, form = _found(request, pk), actor_of(request), DeskTickForm(request.POST)

    def deed() -> object:
        return step_ticks.tick_step(job.pk, form.as_input(step.pk), by=by)

    return _done(request, job, form=form, deed=deed, said=_("Ticked."), at=step)


@allowed(access.may_log_work)
@require_POST
def strike_tick(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(StepTick.objects.select_related("step"), pk=pk)
    job, by, form = find_job(request, row.step.job_id), actor_of(request), StrikeForm(request.POST)

    def deed() -> object:
        return step_ticks.strike_tick(row.pk, reason=form.cleaned_data["reason"], by=by)

    return _done(request, job, form=form, deed=deed, said=_("The tick is struck out."), at=row.step)


@allowed(access.may_use_desk)
@require_POST
def remove_step(request: StaffRequest, pk: int) -> HttpResponse:
    (job, step), by = _found(request, pk), actor_of(request)
    said = _("“%s” is taken off the job.") % step.text
    return _done(request, job, form=None, deed=lambda: deeds.remove_step(step.pk, by=by), said=said)


@allowed(access.may_set_terms)
@require_POST
def waive_step(request: StaffRequest, pk: int) -> HttpResponse:
    (job, step), by, form = _found(request, pk), actor_of(request), WaiveStepForm(request.POST)

    def deed() -> object:
        return deeds.waive_step(step.pk, reason=form.cleaned_data["reason"], by=by)

    return _done(request, job, form=form, deed=deed, said=_("The job may go without it."), at=step)


def _found(request: StaffRequest, pk: int) -> tuple[Job, JobStep]:
    step = find_row(JobStep.objects, pk=pk)
    return find_job(request, step.job_id), step


def _done(
    request: StaffRequest,
    job: Job,
    *,
    form: forms.Form | None,
    deed: Callable[[], object],
    said: str,
    at: JobStep | None = None,
) -> HttpResponse:
    """Do it once and go back to the steps; or show the page again with what was typed and the message."""
    place = f"#step-{at.pk}" if at is not None else ""

    def effect() -> str:
        deed()
        return f"{reverse('work_orders:steps', args=[job.pk])}{place}"

    by = actor_of(request)
    if form is None:
        location: str | None = once(request, effect, by=by)
    else:
        location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _page(request, job, failed=form, at=at)
    messages.success(request, said)
    return HttpResponseRedirect(location)


def _page(
    request: StaffRequest, job: Job, *, failed: forms.Form | None = None, at: JobStep | None = None
) -> HttpResponse:
    page = steps_page(job, viewer=request.user)
    fresh: dict[str, Any] = {
        "step": AddStepForm(),
        "step_list": AddStepListForm(page=page),
        "joint": AddJointForm(page=page),
    }
    shown = {name: failed if type(failed) is type(form) else form for name, form in fresh.items()}
    context = {"page": page, "form": failed, "forms": shown, "at": at.pk if at is not None else None}
    return render(request, "work_orders/steps.html", context, status=422 if failed is not None else 200)

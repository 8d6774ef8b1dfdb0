"""Readings of a job: shown with their verdicts, logged, struck out."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import readings as deeds
from shopapp.context import locale_of
from shopapp.models import Job, Reading, ReadingKind
from shopapp.queries.readings import readings_page
from shopapp.web.shared.once import once
from shopapp.web.shared.reading_forms import ReadingForm
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_job, find_row
from shopapp.web.work_orders.forms_rows import StrikeForm


@allowed(access.may_log_work)
@require_safe
def readings(request: StaffRequest, pk: int) -> HttpResponse:
    job = find_job(request, pk)
    asked = request.GET.get("reading", "")
    kind = next((one for one in ReadingKind if one == asked), ReadingKind.COMPRESSION)
    return _page(request, job, form=ReadingForm(reading=kind, locale=locale_of(request)))


@allowed(access.may_log_work)
@require_POST
def log_reading(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    form = ReadingForm(request.POST, locale=locale_of(request))
    written: list[Reading] = []

    def effect() -> str:
        written.append(deeds.log_reading(job.pk, form.as_input(), by=by))
        return f"{reverse('work_orders:readings', args=[job.pk])}?reading={form.taken.value}"

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _page(request, job, form=form, status=422)
    said = written[0].verdict_words if written else _("it was logged already")
    messages.success(request, _("Logged: %(verdict)s.") % {"verdict": said})
    return HttpResponseRedirect(location)


@allowed(access.may_log_work)
@require_http_methods(["POST"])
def strike_reading(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(Reading.objects, pk=pk)
    job, by, form = find_job(request, row.job_id), actor_of(request), StrikeForm(request.POST)

    def effect() -> str:
        deeds.strike_reading(row.pk, reason=form.cleaned_data["reason"], by=by)
        return reverse("work_orders:readings", args=[job.pk])

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        return HttpResponseRedirect(location)
    fresh = ReadingForm(reading=ReadingKind(row.kind), locale=locale_of(request))
    return _page(request, job, form=fresh, status=422, strike=form)


def _page(
    request: StaffRequest, job: Job, *, form: ReadingForm, status: int = 200, strike: Any = None
) -> HttpResponse:
    page = readings_page(job, kind=form.taken, viewer=request.user, locale=locale_of(request))
    context = {
        "page": page,
        "form": form if strike is None else strike,
        "reading": form,
        "cylinders": form.cylinders(page.cylinders),
        "strike": strike or StrikeForm(),
    }
    return render(request, "work_orders/readings.html", context, status=status)

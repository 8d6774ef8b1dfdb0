"""A job's engine is fogged and laid up, or put back in service."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from shopapp import access
from shopapp.actions import lay_ups
from shopapp.models import Job
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_job
from shopapp.web.shared.tablets import stay_here


@allowed(access.may_log_work)
@require_POST
def lay_up(request: StaffRequest, pk: int) -> HttpResponse:
    told = _("Written down: the engine is fogged and laid up. It is not run again.")
    return _done(request, pk, deed=lay_ups.lay_up_engine, told=told)


@allowed(access.may_log_work)
@require_POST
def put_in_service(request: StaffRequest, pk: int) -> HttpResponse:
    return _done(request, pk, deed=lay_ups.put_in_service, told=_("The engine is back in service."))


def _done(request: StaffRequest, pk: int, *, deed: Callable[..., object], told: str) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)

    def effect() -> str:
        deed(pk, by=by)
        return _page_of(request, job)

    answer = HttpResponseRedirect(once(request, effect, by=by))
    messages.success(request, told)
    return answer


def _page_of(request: StaffRequest, job: Job) -> str:
    """Who pressed it on a tablet goes on there, everybody else on the work order."""
    if stay_here(request) is not None:
        return reverse("bench:job", args=[job.pk])
    return f"{reverse('work_orders:detail', args=[job.work_order_id])}#job-{job.pk}"

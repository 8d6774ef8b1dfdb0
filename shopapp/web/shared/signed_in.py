"""Who is signed in, what their role allows, and the records they may find."""

from collections.abc import Callable
from datetime import date
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone
from django_htmx.middleware import HtmxDetails

from shopapp import access
from shopapp.actions.actor import Actor, Scope
from shopapp.context import display
from shopapp.models import Job, Person, WorkOrder
from shopapp.queries.shop import local_day
from shopapp.web.shared.tablets import stay_here

P = ParamSpec("P")


class StaffRequest(HttpRequest):
    """A request of somebody who signed in."""

    user: Person
    htmx: HtmxDetails


Page = Callable[Concatenate[StaffRequest, P], HttpResponseBase]


def allowed(predicate: Callable[[Person], bool]) -> Callable[[Page[P]], Page[P]]:
    """Only people for whom the predicate holds; others get 403 whatever record the address names."""

    def decorate(view: Page[P]) -> Page[P]:
        @wraps(view)
        def guarded(request: StaffRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not predicate(request.user):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return guarded

    return decorate


def actor_of(request: StaffRequest) -> Actor:
    """The person at the desk, or by PIN at a tablet, now."""
    stay, now = stay_here(request), timezone.now()
    if stay is not None and not stay.is_locked:
        return Actor(scope=Scope.BENCH, person=stay.person, device=stay.device, at=now)
    return Actor(scope=Scope.DESK, person=request.user, at=now)


def today_of(request: HttpRequest) -> date:
    """The shop's day, now; the shop's row is read once a request."""
    return local_day(display(request)["display"], timezone.now())


def find_work_order(request: StaffRequest, pk: int) -> WorkOrder:
    """The work order, or 404 when it is missing or not this person's to see."""
    row = WorkOrder.objects.select_related("vessel", "customer").filter(pk=pk).first()
    if row is None or not access.may_see_work_order(request.user, row):
        raise Http404
    return row


def find_job(request: StaffRequest, pk: int, *, rows: QuerySet[Job] | None = None) -> Job:
    """The job, or 404 when it is missing or on a work order that is not this person's to see. One query."""
    jobs = Job.objects.all() if rows is None else rows
    row = access.seen_jobs(request.user, jobs).filter(pk=pk)
    found = row.select_related("work_order__vessel", "engine__family", "engine__laid_up_by").first()
    if found is None:
        raise Http404
    return found


def find_row(queryset: Any, **lookup: Any) -> Any:
    """The one row, or 404."""
    row = queryset.filter(**lookup).first()
    if row is None:
        raise Http404
    return row

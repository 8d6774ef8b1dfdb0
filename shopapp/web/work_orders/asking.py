"""The way of a page with one form about a visit: shown, sent once, back to the work order."""

from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from shopapp.models import Job, PlacedHold, WorkOrder
from shopapp.queries.ask_pages import Asking, page_of_job, page_of_visit
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.signed_in import StaffRequest, actor_of

type Record = WorkOrder | Job


def asked(
    request: StaffRequest,
    record: Record,
    asking: Asking,
    *,
    form: ShopForm,
    deed: Callable[[], Any],
    values_of: Callable[[Any], Mapping[str, Any]] | None = None,
) -> HttpResponse:
    """Show the form, or run its deed once and go back to the work order.

    ``values_of`` belongs to a form with a version: a row's values by the names of the form's fields.
    """
    job = record if isinstance(record, Job) else None
    work_order = record.work_order if isinstance(record, Job) else record
    place = f"#job-{job.pk}" if job is not None else ""

    def effect() -> str:
        deed()
        return reverse("work_orders:detail", args=[work_order.pk]) + place

    outcome = sent_edit(
        request, form=form, deed=effect, by=actor_of(request), values_of=values_of or _no_values
    )
    if outcome.location:
        return HttpResponseRedirect(outcome.location)
    page = (
        page_of_job(job, asking, conflict=outcome.conflict)
        if job is not None
        else page_of_visit(work_order, asking, conflict=outcome.conflict)
    )
    context = {"page": page, "form": form}
    return render(request, "work_orders/ask.html", context, status=outcome.status)


def sent(request: StaffRequest) -> Any:
    """What was sent, or nothing for a page that is only looked at."""
    return request.POST if request.method == "POST" else None


def settings_of(job: Job) -> dict[str, Any]:
    """How a job is set, by the names of the form's fields."""
    return {
        "engine": job.engine_id,
        "price_kind": job.price_kind,
        "test_kind": job.test_kind,
        "payer": job.payer,
    }


def chase_of(hold: PlacedHold) -> dict[str, Any]:
    """A hold by the names of the form's fields."""
    return {"note": hold.note, "chaser": hold.chaser_id, "chase_date": hold.chase_date}


def _no_values(_row: Any) -> Mapping[str, Any]:
    return {}

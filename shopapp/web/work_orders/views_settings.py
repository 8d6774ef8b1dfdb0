"""A job is added, set, ended without being done, sent back, begun under the limit, let go untested."""

from collections.abc import Sequence
from typing import Any

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shopapp import access
from shopapp.actions import job_endings, job_settings, jobs
from shopapp.context import locale_of
from shopapp.models import Job, Outcome, Payer, Person, PriceKind, Stage, TestKind
from shopapp.queries.ask_pages import Asking, engines_on
from shopapp.queries.job_rules import endings, is_covered, possible_causes, ways_back
from shopapp.queries.limits import limit_left
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import texts_of
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_job, find_work_order
from shopapp.web.work_orders.asking import asked, sent, settings_of
from shopapp.web.work_orders.forms_ask import (
    BOAT_ITSELF,
    NO_JOB,
    CauseForm,
    EndingForm,
    LimitForm,
    NewJobForm,
    SettingsForm,
    WaiverForm,
    WayBackForm,
    cause_initial,
)

MOST_CAUSES = 30


def is_owner(person: Person) -> bool:
    """The owner's pages."""
    return access.may_see_costs(person)


@allowed(access.may_log_work)
@require_http_methods(["GET", "HEAD", "POST"])
def new_job(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    is_desk = access.may_use_desk(request.user)
    initial = {"test_kind": TestKind.WATER, "price_kind": PriceKind.FIXED, "payer": Payer.CUSTOMER}
    form = NewJobForm(
        sent(request), offers={"engine": [BOAT_ITSELF, *engines_on(work_order)]}, initial=initial
    )
    if not is_desk:
        form.keep_to_bench()
    sentence = _("It is not agreed yet: the desk asks the customer before the work begins.")
    asking = Asking(
        title=_("Another job") if is_desk else _("More was found"),
        button=_("Add the job"),
        sentences=() if is_desk else (sentence,),
    )
    return asked(
        request,
        work_order,
        asking,
        form=form,
        deed=lambda: job_settings.add_job(pk, form.as_input(), by=by),
    )


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    engines = [BOAT_ITSELF, *engines_on(job.work_order, kept=job.engine)]
    form = SettingsForm(
        sent(request), offers={"engine": engines}, initial={**settings_of(job), "version": job.version}
    )
    return asked(
        request,
        job,
        Asking(title=_("How the job is set"), button=_("Save")),
        form=form,
        deed=lambda: job_settings.edit_settings(
            pk, form.as_input(), version=form.cleaned_data["version"], by=by
        ),
        values_of=settings_of,
    )


@allowed(access.may_log_work)
@require_http_methods(["GET", "HEAD", "POST"])
def ending(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    allowed_now = endings(job, viewer=request.user)
    form = EndingForm(sent(request), offers={"outcome": _offered(request, allowed_now, Outcome)})
    asking = Asking(
        title=_("End the job without doing it"),
        button=_("End the job"),
        sentences=(_("It is ready then. It can be taken up again later, with the reason."),),
    )
    return asked(
        request, job, asking, form=form, deed=lambda: job_endings.end_job(pk, form.as_input(), by=by)
    )


@allowed(access.may_log_work)
@require_http_methods(["GET", "HEAD", "POST"])
def way_back(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    ways = ways_back(job, viewer=request.user, is_agreed=is_covered(job))
    initial: dict[str, Any] = {"to": ways[0]} if len(ways) == 1 else {}
    form = WayBackForm(sent(request), offers={"to": _offered(request, ways, Stage)}, initial=initial)
    asking = Asking(
        title=_("Send the job back"),
        button=_("Send it back"),
        sentences=(_("From diagnosis the customer can be asked anew."),)
        if ways
        else (_("There is no way back."),),
    )
    return asked(
        request, job, asking, form=form, deed=lambda: job_endings.move_back(pk, form.as_input(), by=by)
    )


def _offered(
    request: StaffRequest, now: Sequence[Outcome | Stage], kind: type[Outcome] | type[Stage]
) -> list[tuple[str, Any]]:
    """What may be chosen now. A send is judged by the action, so that a repeat gets its stored answer."""
    return [(one.value, one.label) for one in (kind if request.method == "POST" else now)]


@allowed(is_owner)
@require_http_methods(["GET", "HEAD", "POST"])
def waiver(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    form = WaiverForm(sent(request))
    asking = Asking(
        title=_("Let it go without the test"),
        button=_("It may go without the test"),
        sentences=(_("Your name and the reason stay on the work order."),),
    )
    return asked(
        request, job, asking, form=form, deed=lambda: job_endings.waive_test(pk, form.as_input(), by=by)
    )


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def small_work(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    form = LimitForm(sent(request), locale=locale_of(request))
    return asked(
        request,
        job,
        _small_work(job),
        form=form,
        deed=lambda: jobs.start_within_limit(pk, form.as_input(), by=by),
    )


def _small_work(job: Job) -> Asking:
    money, left = texts_of(the_shop()).money, limit_left(job.work_order, besides=job)
    sentence = _("The customer signed a limit of %(limit)s; %(left)s of it is left, without tax.")
    none = _("No signed spending limit is in force on this visit. Write and send a quote, or call.")
    words = {"limit": money(left.limit_minor), "left": money(left.left_minor)}
    return Asking(
        title=_("Small work under the limit"),
        button=_("Start the work"),
        sentences=(sentence % words if left.limit_minor else none,),
    )


@allowed(is_owner)
@require_http_methods(["GET", "HEAD", "POST"])
def cause(request: StaffRequest, pk: int) -> HttpResponse:
    job, by = find_job(request, pk), actor_of(request)
    elder = possible_causes(job).select_related("work_order")[:MOST_CAUSES]
    choices = [(one.pk, f"{one.work_order.number}, {one.position}: {one.complaint[:80]}") for one in elder]
    form = CauseForm(sent(request), offers={"job": [NO_JOB, *choices]}, initial=cause_initial(job))
    asking = Asking(
        title=_("Where does this job come from?"),
        button=_("Save"),
        sentences=(_("Only the owner sees this. The whole cost of this job is found from the other one."),),
    )
    return asked(
        request,
        job,
        asking,
        form=form,
        deed=lambda: job_settings.name_cause(
            pk, form.as_input(), version=form.cleaned_data["version"], by=by
        ),
        values_of=lambda row: {"job": row.caused_by_job_id, "same_cause": row.is_for_same_cause},
    )

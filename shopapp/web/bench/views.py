"""My jobs, and one job: a tablet may keep these pages, to be read without a connection."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from shopapp import access
from shopapp.context import display, locale_of
from shopapp.models import ShopTime, TimeKind
from shopapp.queries.bench import BenchJobPage, bench_jobs, job_page, my_jobs_page
from shopapp.queries.bench_readings import bench_readings
from shopapp.queries.bench_steps import bench_steps
from shopapp.queries.devices import at_the_bench
from shopapp.queries.dock_calls import DockLink, dock_link
from shopapp.queries.shop import end_of_day
from shopapp.web.bench.forms import EntryForm
from shopapp.web.bench.kinds import KINDS
from shopapp.web.shared.signed_in import StaffRequest, allowed, find_job, today_of
from shopapp.web.shared.tablets import stay_here

KIND_AT = {"diagnosis": TimeKind.DIAGNOSIS, "test": TimeKind.TEST}
# names the person for whom the tablet's service worker may keep the page; without it nothing is kept
KEPT_FOR = "X-Shopapp-Kept-For"


@allowed(access.may_log_work)
@require_safe
@gzip_page
def index(request: StaffRequest) -> HttpResponse:
    page = my_jobs_page(request.user, today=today_of(request))
    context = {"page": page, "works": ShopTime.choices, "dock": _dock(request)}
    return _kept(request, render(request, "bench/index.html", context))


@allowed(access.may_log_work)
@require_safe
@gzip_page
def job(request: StaffRequest, pk: int) -> HttpResponse:
    found = find_job(request, pk, rows=bench_jobs(request.user))
    locale = locale_of(request)
    page = job_page(found, viewer=request.user, locale=locale)
    readings = bench_readings(found, viewer=at_the_bench(request.user), locale=locale)
    context = {
        "page": page,
        "forms": _forms(request, page),
        "works": TimeKind.choices,
        "usual": _usual(page),
        "readings": readings,
        "steps": bench_steps(found, viewer=at_the_bench(request.user)),
    }
    response = render(request, "bench/job.html", context)
    return _kept(request, response) if page.is_mine and page.is_open else response


def _dock(request: StaffRequest) -> DockLink | None:
    """What is handed out to whoever works at this tablet, until the day is over."""
    stay, day = stay_here(request), today_of(request)
    if stay is None:
        return None
    ends_at = end_of_day(display(request)["display"], day)
    return dock_link(stay.device, stay.person, day=day, ends_at=ends_at)


def _forms(request: StaffRequest, page: BenchJobPage) -> dict[str, EntryForm]:
    """An empty form of each kind of entry, under the kind's name."""
    locale = locale_of(request)
    return {kind: form(locale=locale, initial={"work": _usual(page)}) for kind, form in KINDS.items()}


def _usual(page: BenchJobPage) -> TimeKind:
    """What time on a job mostly goes into where the job stands."""
    return KIND_AT.get(page.stage.code, TimeKind.REPAIR)


def _kept(request: StaffRequest, response: HttpResponse) -> HttpResponse:
    """Only a tablet at which somebody works by PIN keeps pages; a browser at the desk keeps none."""
    stay = stay_here(request)
    if stay is not None:
        response[KEPT_FOR] = str(stay.person.pk)
    return response

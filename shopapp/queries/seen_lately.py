"""What the shop did lately on a boat or its engines: when, what, by whom, and what warranty is left of it."""

import calendar
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shopapp.models import Job, JobAssignment, Outcome, QuoteOption, Shop, Stage
from shopapp.queries.approvals import approved_options
from shopapp.queries.engines import engine_words
from shopapp.queries.shop import local_day
from shopapp.queries.shop_texts import texts_of

MONTHS_A_YEAR = 12
JOBS_SHOWN = 12


@dataclass(frozen=True, kw_only=True)
class LatelyJob:
    """One job of a visit that is over; ``warranty`` is empty when none is left."""

    work_order_pk: int
    number: str
    gone_shown: str
    engine: str
    what: str
    outcome: str
    who: str
    warranty: str


def months_after(day: date, months: int) -> date:
    """The same day some months later; the last day of a shorter month.

    >>> months_after(date(2026, 1, 31), 1)
    datetime.date(2026, 2, 28)
    """
    year, month = divmod(day.year * MONTHS_A_YEAR + day.month - 1 + months, MONTHS_A_YEAR)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def seen_lately(*, vessel: int, engines: Iterable[int], shop: Shop, at: datetime) -> tuple[LatelyJob, ...]:
    """Jobs of visits of this boat, or of these engines on whatever boat, that ended lately; newest first.

    An open visit is no visit of lately, even while its boat is at home. Three queries, however many jobs.
    """
    day = months_after(local_day(shop, at), -shop.lately_months)
    since = datetime.combine(day, time(), tzinfo=ZoneInfo(shop.time_zone))
    same = Q(engine__in=list(engines)) | Q(work_order__vessel=vessel)
    rows = Job.objects.filter(same, work_order__stage=Stage.GONE, work_order__gone_at__gte=since)
    jobs = list(
        rows.exclude(stage=Stage.CANCELLED)
        .select_related("work_order", "engine")
        .order_by("-work_order__gone_at", "-work_order", "position")[:JOBS_SHOWN]
    )
    options, people = approved_options(jobs), _people(jobs)
    return tuple(_lately(job, options.get(job.pk, ()), who=people[job.pk], shop=shop, at=at) for job in jobs)


def _people(jobs: Sequence[Job]) -> Mapping[int, str]:
    """Job → names of those who worked on it."""
    names: dict[int, list[str]] = defaultdict(list)
    rows = JobAssignment.objects.filter(job__in=jobs).order_by("person__name")
    for job, name in rows.values_list("job", "person__name"):
        names[job].append(name)
    return defaultdict(str, {job: ", ".join(some) for job, some in names.items()})


def _lately(job: Job, options: Sequence[QuoteOption], *, who: str, shop: Shop, at: datetime) -> LatelyJob:
    gone = job.work_order.gone_at
    if gone is None:
        raise ValueError(f"{job.work_order} is gone and does not say when")
    done = job.outcome == Outcome.DONE
    today, since = local_day(shop, at), local_day(shop, gone)
    left = [_warranty(option, since=since, today=today, shop=shop) for option in options] if done else []
    return LatelyJob(
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        gone_shown=texts_of(shop).day(since),
        engine=engine_words(job.engine) if job.engine is not None else "",
        what=job.correction or next((option.title for option in options), "") or job.complaint,
        outcome=str(Outcome(job.outcome).label),
        who=who,
        warranty="; ".join(filter(None, left)),
    )


def _warranty(option: QuoteOption, *, since: date, today: date, shop: Shop) -> str:
    """What is left of the warranty on a day, from the day the boat went home."""
    until = months_after(since, option.warranty_months)
    if option.warranty_months == 0 or until < today:
        return ""
    months = whole_months(today, until)
    sentence = (
        ngettext("%(months)s month left", "%(months)s months left", months) if months else _("ends soon")
    )
    covers = option.warranty_covers or option.title
    return _("warranty until %(day)s (%(left)s): %(covers)s") % {
        "day": texts_of(shop).day(until),
        "left": sentence % {"months": months},
        "covers": covers,
    }


def whole_months(start: date, end: date) -> int:
    """How many whole months lie between two days, the later one last."""
    months = (end.year - start.year) * MONTHS_A_YEAR + end.month - start.month
    return months if months_after(start, months) <= end else months - 1

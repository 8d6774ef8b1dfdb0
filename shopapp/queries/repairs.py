"""Repairs as the shop's own record counts them: done as a customer chose, handed over, and what came then."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Exists, F, Max, OuterRef, QuerySet, Subquery

from shopapp.calc.record import Comeback, Fate, verdict
from shopapp.models import Engine, EngineMounting, Job, Outcome, Shop, Stage, VesselOwnership, Way, WorkOrder
from shopapp.queries.approvals import approved_answers
from shopapp.queries.engines import engine_words, family_key
from shopapp.queries.seen_lately import months_after
from shopapp.queries.shop import local_day

# a boat on these visits was not here
NOT_HERE = (Stage.BOOKED, Stage.CANCELLED)
# a repair that held is told of once a year is known of it, so that a season lies in it
MONTHS_TO_TELL = 12
DAYS_A_MONTH = 365.25 / 12
_FACTS = ("pk", "way", "engine", "engine__make", "engine__model", "work_order__vessel", "handed_over_at")
_SIGHT = ("mounted_until", "owned_until", "is_with_them")


@dataclass(frozen=True, kw_only=True)
class Repair:
    """A job that was done on an engine and handed over, and what became of it; days are the shop's own.

    `family` is empty for an engine whose make or model is not known. `seen`: when it was last here since.
    `comeback`: the job that decided, or that nobody judged.
    """

    job: int
    way: str
    family: str
    engine: str
    handed_over: date
    fate: Fate
    known_until: date
    seen: date | None
    comeback: int | None

    @property
    def months(self) -> float:
        """How long it is known of: from hand-over until it came back, or until it was last known to hold."""
        return max(0, (self.known_until - self.handed_over).days) / DAYS_A_MONTH

    @property
    def is_told(self) -> bool:
        """Whether it counts in "2 of 9": it came back, or is known to have held for twelve months."""
        if self.fate == Fate.CAME_BACK:
            return True
        is_known = self.fate in (Fate.HELD, Fate.STILL_RUNNING)
        return is_known and self.known_until >= months_after(self.handed_over, MONTHS_TO_TELL)


def repairs(ways: Collection[str], *, shop: Shop, at: datetime) -> tuple[Repair, ...]:
    """Every repair by one of these ways (values of Way) as of a moment, newest hand-over first. Four queries.

    A repair is a job that was done on an engine, by the option of the main offer that the customer approved
    last, on a visit that is over. The price kind, and who paid, are no matter. To leave it is no repair.
    """
    rows = _jobs_done([way for way in ways if way != Way.LEAVE], at=at).values(*_FACTS, *_SIGHT)
    judge = _Judge(
        shop=shop,
        at=at,
        comebacks=_comebacks(at=at),
        engines_seen=_last_here(Job.objects.all(), "engine", visit="work_order__", at=at),
        boats_seen=_last_here(WorkOrder.objects.all(), "vessel", visit="", at=at),
    )
    return tuple(judge.repair(row) for row in rows)


def _jobs_done(ways: Collection[str], *, at: datetime) -> "QuerySet[Job]":
    """Jobs done on engines, of visits that are over, each with its way and until when it was in sight."""
    mounted = EngineMounting.objects.filter(engine=OuterRef("engine"))
    here = mounted.filter(vessel=OuterRef("work_order__vessel")).order_by("-from_date", "-pk")
    owned = VesselOwnership.objects.filter(
        vessel=OuterRef("work_order__vessel"), customer=OuterRef("work_order__customer")
    )
    theirs = {"vessel__ownerships__customer": OuterRef("work_order__customer")}
    now = {"until_date": None, "vessel__ownerships__until_date": None}
    rows = Job.objects.filter(outcome=Outcome.DONE, engine__isnull=False, work_order__stage=Stage.GONE)
    return (
        rows.filter(work_order__gone_at__lte=at)
        .exclude(stage=Stage.CANCELLED)
        .annotate(
            handed_over_at=F("work_order__gone_at"),
            way=Subquery(approved_answers(OuterRef("pk")).values("option__way")[:1]),
            mounted_until=Subquery(here.values("until_date")[:1]),
            owned_until=Subquery(owned.order_by("-from_date", "-pk").values("until_date")[:1]),
            is_with_them=Exists(mounted.filter(**theirs, **now)),
        )
        .filter(way__in=ways)
        .order_by("-work_order__gone_at", "-pk")
    )


def _last_here(rows: "QuerySet[Any]", name: str, *, visit: str, at: datetime) -> Mapping[int, datetime]:
    """Engine or boat → when its newest visit began. One query."""
    opened = f"{visit}opened_at"
    came = rows.filter(**{f"{opened}__lte": at}).exclude(**{f"{visit}stage__in": NOT_HERE})
    return dict(came.order_by().values_list(name).annotate(newest=Max(opened)))


def _comebacks(*, at: datetime) -> Mapping[int, list[tuple[int, Comeback]]]:
    """Job → the jobs that came of it, each with its key. One query: comebacks are few."""
    rows = Job.objects.filter(caused_by_job__isnull=False, work_order__opened_at__lte=at)
    found: defaultdict[int, list[tuple[int, Comeback]]] = defaultdict(list)
    for job in (
        rows.exclude(work_order__stage=Stage.BOOKED)
        .select_related("work_order", "caused_by_job")
        .only(
            *("caused_by_job", "is_for_same_cause", "outcome", "stage", "engine"),
            *("work_order__opened_at", "work_order__stage", "caused_by_job__engine"),
        )
        .order_by("work_order__opened_at", "pk")
    ):
        if job.caused_by_job is not None:
            comeback = Comeback(at=job.work_order.opened_at, is_same=_is_same(job, cause=job.caused_by_job))
            found[job.caused_by_job.pk].append((job.pk, comeback))
    return found


def _is_same(job: Job, *, cause: Job) -> bool | None:
    """Whether a comeback came for the same cause; None where nobody has judged, or nobody looked.

    On another engine, or without a fault to be found, it did not: the repair itself held.
    """
    if Stage.CANCELLED in (job.stage, job.work_order.stage):
        return None
    if job.outcome == Outcome.NO_FAULT:
        return False
    if job.engine_id is not None and job.engine_id != cause.engine_id:
        return False
    return job.is_for_same_cause


@dataclass(frozen=True, kw_only=True)
class _Judge:
    """What is known of all repairs as of a moment; families by make and model, each worked out once."""

    shop: Shop
    at: datetime
    comebacks: Mapping[int, list[tuple[int, Comeback]]]
    engines_seen: Mapping[int, datetime]
    boats_seen: Mapping[int, datetime]
    families: dict[tuple[str, str], tuple[str, str]] = field(default_factory=dict)

    def repair(self, row: Mapping[str, Any]) -> Repair:
        family, engine = self.family_of(row["engine__make"], row["engine__model"])
        returns, seen = self.comebacks.get(row["pk"], []), self.seen_since(row)
        found = verdict([one for _, one in returns], seen=seen, left=self.left_at(row), at=self.at)
        return Repair(
            job=row["pk"],
            way=row["way"],
            family=family,
            engine=engine,
            handed_over=local_day(self.shop, row["handed_over_at"]),
            fate=found.fate,
            known_until=local_day(self.shop, found.until),
            seen=local_day(self.shop, seen) if seen is not None else None,
            comeback=next(_deciding(returns, fate=found.fate), None),
        )

    def family_of(self, make: str, model: str) -> tuple[str, str]:
        """The family's key, and the engine in words."""
        if (make, model) not in self.families:
            words = engine_words(Engine(make=make, model=model))
            self.families[make, model] = (family_key(make=make, model=model), words)
        return self.families[make, model]

    def seen_since(self, row: Mapping[str, Any]) -> datetime | None:
        """When the engine was last here since: itself, or with its boat as long as it hung there."""
        boat = self.boats_seen.get(row["work_order__vessel"]) if row["mounted_until"] is None else None
        moments = [one for one in (self.engines_seen.get(row["engine"]), boat) if one is not None]
        return max((one for one in moments if one > row["handed_over_at"]), default=None)

    def left_at(self, row: Mapping[str, Any]) -> datetime | None:
        """When it went out of sight, never before hand-over: boat sold, or engine moved off it."""
        days = [day for day in (row["mounted_until"], row["owned_until"]) if day is not None]
        if row["is_with_them"] or not days:
            return None
        handed_over: datetime = row["handed_over_at"]
        return max(datetime.combine(min(days), time.min, tzinfo=ZoneInfo(self.shop.time_zone)), handed_over)


def _deciding(returns: list[tuple[int, Comeback]], *, fate: Fate) -> Iterator[int]:
    """The first that came for the same cause; of a repair that is not known, the first nobody judged."""
    if fate == Fate.CAME_BACK:
        return (pk for pk, one in returns if one.is_same)
    return (pk for pk, one in returns if one.is_same is None)

"""Repairs as the shop's own record counts them: done as a customer chose, handed over, and what came then."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import (
    BooleanField,
    Case,
    Exists,
    F,
    Max,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Cast

from shopapp.calc.record import Comeback, Fate, verdict
from shopapp.models import Engine, EngineMounting, Job, Outcome, Shop, Stage, VesselOwnership, Way, WorkOrder
from shopapp.queries.approvals import approved_answers
from shopapp.queries.engines import engine_words, family_key
from shopapp.queries.seen_lately import months_after
from shopapp.queries.shop import local_day

# to leave it puts nothing right, and of a replaced engine nothing is left to hold
NO_REPAIR = (Way.LEAVE, Way.REPLACE)
# a boat on these visits was not here
NOT_HERE = (Stage.BOOKED, Stage.CANCELLED)
# a repair that held is told of once a year is known of it, so that a season lies in it
MONTHS_TO_TELL = 12
DAYS_A_MONTH = 365.25 / 12
_FACTS = ("pk", "way", "engine", "engine__make", "engine__model", "work_order__vessel", "handed_over_at")
# job → the jobs that came of it, each with its key
type Came = Mapping[int, list[tuple[int, Comeback]]]
# boat, one of its engines, and when both were last here
type Here = list[tuple[int, int | None, datetime]]
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
    """Every repair by one of these ways (values of Way) as of a moment, newest hand-over first. Two queries.

    A repair is a job that was done on an engine, by the option of the main offer that the customer approved
    last, on a visit that is over. The price kind, and who paid, are no matter.
    """
    rows = _jobs_done([way for way in ways if way not in NO_REPAIR], at=at).values(*_FACTS, *_SIGHT)
    comebacks, here = _comebacks_and_visits(at=at)
    boats = _newest((boat, moment) for boat, _, moment in here)
    engines = _newest((engine, moment) for _, engine, moment in here)
    judge = _Judge(shop=shop, at=at, comebacks=comebacks, boats_seen=boats, engines_seen=engines)
    return tuple(judge.repair(row) for row in rows)


def _newest(visits: Iterable[tuple[int | None, datetime]]) -> Mapping[int, datetime]:
    """Each boat, or engine, with its last moment."""
    found: dict[int, datetime] = {}
    for key, moment in visits:
        if key is not None:
            found[key] = max(moment, found.get(key, moment))
    return found


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


def _comebacks_and_visits(*, at: datetime) -> tuple[Came, Here]:
    """What came of each job, oldest first; when boats and engines were last here. One query."""
    came: defaultdict[int, list[tuple[int, Comeback]]] = defaultdict(list)
    here: list[tuple[int, int | None, datetime]] = []
    for is_comeback, key, other, moment, is_same in _came(at=at).union(_here(at=at), all=True):
        if is_comeback:
            came[key].append((other, Comeback(at=moment, is_same=is_same)))
        else:
            here.append((key, other, moment))
    ordered = {job: sorted(some, key=lambda one: (one[1].at, one[0])) for job, some in came.items()}
    return ordered, here


def _came(*, at: datetime) -> "QuerySet[Any, tuple[Any, ...]]":
    """Comebacks, and whether each came for the same cause: none where nobody has judged, or nobody looked.

    On another engine, or without a fault to be found, it did not: the repair itself held.
    """
    is_off = Q(stage=Stage.CANCELLED) | Q(work_order__stage=Stage.CANCELLED)
    is_elsewhere = Q(engine__isnull=False) & ~Q(engine=F("caused_by_job__engine"))
    is_same = Case(
        When(is_off, then=Cast(Value(None), BooleanField())),
        When(is_elsewhere | Q(outcome=Outcome.NO_FAULT), then=Value(False)),  # noqa: FBT003 (a word of SQL)
        default=F("is_for_same_cause"),
    )
    rows = Job.objects.filter(caused_by_job__isnull=False, work_order__opened_at__lte=at)
    told = {
        "is_comeback": Value(True),  # noqa: FBT003 (a word of SQL)
        "key": F("caused_by_job_id"),
        "other": F("id"),
        "moment": F("work_order__opened_at"),
        "is_same": is_same,
    }
    return rows.exclude(work_order__stage=Stage.BOOKED).annotate(**told).order_by().values_list(*told)


def _here(*, at: datetime) -> "QuerySet[Any, tuple[Any, ...]]":
    """When each boat was last here, with each of its engines that somebody looked at then."""
    rows = WorkOrder.objects.filter(opened_at__lte=at).exclude(stage__in=NOT_HERE)
    pairs = rows.annotate(
        is_comeback=Value(False),  # noqa: FBT003 (a word of SQL)
        key=F("vessel_id"),
        other=F("jobs__engine_id"),
    )
    newest = {"moment": Max("opened_at"), "is_same": Cast(Value(None), BooleanField())}
    told = pairs.order_by().values("is_comeback", "key", "other").annotate(**newest)
    return told.values_list("is_comeback", "key", "other", "moment", "is_same")


@dataclass(frozen=True, kw_only=True)
class _Judge:
    """What is known of all repairs as of a moment; families by make and model, each worked out once."""

    shop: Shop
    at: datetime
    comebacks: Came
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

"""Pages about the shop's own record: all of it at a glance, and one record opened down to its jobs."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import OuterRef, Subquery
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shopapp import access
from shopapp.calc.money import format_number
from shopapp.calc.record import Fate
from shopapp.models import HourReading, Job, Person, Shop, Stage, Way
from shopapp.queries.approvals import approved_answers
from shopapp.queries.paging import Pager, pager_for
from shopapp.queries.repair_records import RepairRecord, Wanted, counted
from shopapp.queries.repairs import Repair, repairs
from shopapp.queries.seen_lately import whole_months
from shopapp.queries.shop_texts import texts_of
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class FateCount:
    """How many repairs share a fate (a value of Fate)."""

    fate: str
    word: str
    count: int
    is_current: bool


@dataclass(frozen=True, kw_only=True)
class LaterJob:
    """The job that came of a repair. The owner's to read; ``may_judge``: whether its cause may be judged."""

    pk: int
    work_order_pk: int
    number: str
    may_judge: bool


@dataclass(frozen=True, kw_only=True)
class RepairRow:
    """One repair: which job it was, and what became of it in words."""

    job: int
    work_order_pk: int
    number: str
    boat: str
    engine: str
    what: str
    handed_over: str
    became: str
    is_told: bool
    later: LaterJob | None


@dataclass(frozen=True, kw_only=True)
class RecordPage:
    """A record with its counts, and the repairs of one of them or of all, newest hand-over first.

    ``family`` is empty on the page of all families; ``others`` leads there from a family's own.
    """

    way: str
    family: str
    says: str
    too_young: int
    counts: tuple[FateCount, ...]
    total: int
    rows: tuple[RepairRow, ...]
    pager: Pager
    others: str
    others_says: str


@dataclass(frozen=True, kw_only=True)
class RecordLine:
    """One record at a glance; ``key`` opens it."""

    key: str
    way: str
    says: str
    came_back: int
    held: int
    still_running: int
    unknown: int


@dataclass(frozen=True, kw_only=True)
class FamilyRecords:
    """The records of an engine family by the ways of putting right; the last family is all of them."""

    family: str
    lines: tuple[RecordLine, ...]


def record_key(wanted: Wanted) -> str:
    """What a record is called in an address: "mend-petrelmarine-p60"; a way alone is all families."""
    return "-".join(filter(None, (wanted.way, wanted.family)))


def wanted_by(key: str) -> Wanted | None:
    """The record of which this is the name, if there can be such a one."""
    way, _dash, family = key.partition("-")
    return Wanted(way=way, family=family) if way in Way.values else None


def record_index(*, shop: Shop, at: datetime) -> tuple[FamilyRecords, ...]:
    """Every record there is: of all families, then family by family. Two queries."""
    found = repairs(Way.values, shop=shop, at=at)
    by_family: defaultdict[str, list[Repair]] = defaultdict(list)
    for one in found:
        by_family[one.family].append(one)
    named = {key: some for key, some in by_family.items() if key}
    families = sorted(named.items(), key=lambda one: (-len(one[1]), one[0]))
    own = tuple(_family(key, some, words=some[0].engine) for key, some in families)
    return (_family("", found, words=_("All engines")), *own) if found else ()


def _family(key: str, some: Sequence[Repair], *, words: str) -> FamilyRecords:
    by_way: defaultdict[str, list[Repair]] = defaultdict(list)
    for one in some:
        by_way[one.way].append(one)
    lines = (_line(Wanted(way=way, family=key), by_way[way]) for way in Way.values if way in by_way)
    return FamilyRecords(family=words, lines=tuple(lines))


def _line(wanted: Wanted, some: Sequence[Repair]) -> RecordLine:
    record = counted(wanted, tuple(some))
    return RecordLine(
        key=record_key(wanted),
        way=str(Way(wanted.way).label),
        says=record.says,
        came_back=record.came_back,
        held=record.held,
        still_running=record.still_running,
        unknown=record.unknown,
    )


def record_page(
    wanted: Wanted, *, fate: str, number: int, viewer: Person, shop: Shop, at: datetime
) -> RecordPage | None:
    """A page of the record, of one fate or of all; None where there is no such repair. Four queries at most.

    Which later job came of a repair is the owner's to read.
    """
    of_way = repairs([wanted.way], shop=shop, at=at)
    own = tuple(one for one in of_way if wanted.family in ("", one.family))
    if not own:
        return None
    record, everybody = counted(wanted, own), counted(Wanted(way=wanted.way, family=""), of_way)
    some = [one for one in own if one.fate == fate] if fate in Fate else list(own)
    pager = pager_for(len(some), wanted=number)
    return RecordPage(
        way=str(Way(wanted.way).label),
        family=own[0].engine if wanted.family else "",
        says=record.says,
        too_young=record.too_young,
        counts=_counts(record, fate=fate),
        total=len(own),
        rows=_rows(some[pager.start : pager.end], viewer=viewer, shop=shop),
        pager=pager,
        others=wanted.way if wanted.family and len(of_way) > len(own) else "",
        others_says=everybody.says,
    )


def _counts(record: RepairRecord, *, fate: str) -> tuple[FateCount, ...]:
    words = {
        Fate.CAME_BACK: (_("came back"), record.came_back),
        Fate.HELD: (_("held when last here"), record.held),
        Fate.STILL_RUNNING: (_("not seen since"), record.still_running),
        Fate.UNKNOWN: (_("not known"), record.unknown),
    }
    return tuple(
        FateCount(fate=one.value, word=word, count=count, is_current=one == fate)
        for one, (word, count) in words.items()
    )


def _rows(some: Sequence[Repair], *, viewer: Person, shop: Shop) -> tuple[RepairRow, ...]:
    jobs = _jobs([one.job for one in some] + [one.comeback for one in some if one.comeback is not None])
    hours = {pk: format_number(run, locale=shop.locale) for pk, run in _hours_run(some, jobs=jobs).items()}
    is_owner = access.may_see_costs(viewer)
    day = texts_of(shop).day
    rows = []
    for one in some:
        job, later = jobs[one.job], jobs.get(one.comeback or 0)
        what: str = job.correction or job.title or job.complaint  # type: ignore[attr-defined]  # by _jobs
        rows.append(
            RepairRow(
                job=job.pk,
                work_order_pk=job.work_order_id,
                number=job.work_order.number,
                boat=boat_words(job.work_order.vessel),
                engine=one.engine,
                what=what,
                handed_over=day(one.handed_over),
                became=_became(one, later=later, hours=hours.get(one.job, ""), seen=day(one.seen)),
                is_told=one.is_told,
                later=_later(later) if is_owner and later is not None else None,
            )
        )
    return tuple(rows)


def _jobs(pks: Sequence[int]) -> Mapping[int, Job]:
    """Jobs with their visits and boats, and the ``title`` of what the customer approved. One query."""
    title = approved_answers(OuterRef("pk")).values("option__title")[:1]
    rows = Job.objects.filter(pk__in=pks).select_related("work_order__vessel")
    return {job.pk: job for job in rows.annotate(title=Subquery(title))}


def _later(job: Job) -> LaterJob:
    return LaterJob(
        pk=job.pk,
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        may_judge=job.is_for_same_cause is None and not _is_off(job),
    )


def _is_off(job: Job) -> bool:
    return Stage.CANCELLED in (job.stage, job.work_order.stage)


def _became(one: Repair, *, later: Job | None, hours: str, seen: str) -> str:
    """What became of a repair, as one would say it at the counter."""
    words = {"after": _after(one.handed_over, one.known_until, hours=hours), "seen": seen}
    if one.fate == Fate.CAME_BACK:
        return _("came back after %(after)s") % words
    if one.fate == Fate.HELD:
        return _("held when last here, %(seen)s") % words
    if one.fate == Fate.STILL_RUNNING:
        return _("not seen for %(after)s") % words
    if later is not None and _is_off(later):
        return _("due again after %(after)s, but called off") % words
    if later is not None:
        return _("in again after %(after)s, the cause is not judged yet") % words
    return _("boat sold or engine moved after %(after)s") % words


def _after(start: date, end: date, *, hours: str) -> str:
    months, days = whole_months(start, end), max(0, (end - start).days)
    words = (
        ngettext("%(count)s month", "%(count)s months", months)
        if months > 0
        else ngettext("%(count)s day", "%(count)s days", days)
    ) % {"count": months if months > 0 else days}
    return _("%(time)s and %(hours)s h") % {"time": words, "hours": hours} if hours else words


def _hours_run(some: Sequence[Repair], *, jobs: Mapping[int, Job]) -> Mapping[int, Decimal]:
    """Job → hours it ran until it came back, where both visits have a reading. One query at most."""
    pairs = [
        (jobs[one.job], jobs[one.comeback])
        for one in some
        if one.fate == Fate.CAME_BACK and one.comeback is not None
    ]
    engines = {job.engine_id for job, _later in pairs}
    read: defaultdict[int, list[HourReading]] = defaultdict(list)
    if engines:
        for reading in HourReading.objects.filter(engine__in=engines).order_by("read_at", "pk"):
            read[reading.engine_id].append(reading)
    found = {job.pk: _between(job, later, read[job.engine_id or 0]) for job, later in pairs}
    return {pk: Decimal(tenths) / 10 for pk, tenths in found.items() if tenths is not None and tenths >= 0}


def _between(job: Job, later: Job, readings: Sequence[HourReading]) -> int | None:
    """Tenths from the last reading of one visit to the first of the other."""
    before = [one.tenths for one in readings if _is_of_visit(one, job)]
    after = [one.tenths for one in readings if _is_of_visit(one, later)]
    return after[0] - before[-1] if before and after else None


def _is_of_visit(reading: HourReading, job: Job) -> bool:
    visit = job.work_order
    is_over = visit.gone_at is not None and reading.read_at > visit.gone_at
    return reading.read_at >= visit.opened_at and not is_over

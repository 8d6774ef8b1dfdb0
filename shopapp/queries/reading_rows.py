"""Readings of jobs in words, each with the verdict and the limit that were frozen with it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, OuterRef, QuerySet, Subquery
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.models import Job, Person, Reading, ReadingKind, ReadingValue, ReadingVerdict, Warmth
from shopapp.queries.figures import plain
from shopapp.queries.limit_words import unit_word


@dataclass(frozen=True, kw_only=True)
class ReadingRow:
    """A reading as people read it."""

    pk: int
    word: str
    taken: str
    figures: str
    verdict: str
    verdict_words: str
    limit_words: str
    remark: str
    who: str
    happened_at: datetime
    is_struck: bool
    struck: str
    may_strike: bool


@dataclass(frozen=True, kw_only=True)
class Counts:
    """How many readings of a job stand, and how many of them are out of limits."""

    taken: int
    out: int


NO_READINGS = Counts(taken=0, out=0)


def with_readings(jobs: QuerySet[Job]) -> QuerySet[Job]:
    """The jobs with how many readings stand on each; for ``counts_of``. No query of its own."""
    standing = Reading.objects.filter(job=OuterRef("pk"), struck_at=None)
    return jobs.annotate(
        readings_taken=_count(standing),
        readings_out=_count(standing.filter(verdict=ReadingVerdict.OUT_OF_LIMITS)),
    )


def _count(rows: QuerySet[Reading]) -> Subquery:
    return Subquery(rows.order_by().values("job").annotate(rows=Count("pk")).values("rows"))


def counts_of(job: Job) -> Counts:
    """The counts of a job that was fetched by ``with_readings``; none of any other. No query."""
    taken, out = getattr(job, "readings_taken", None), getattr(job, "readings_out", None)
    return Counts(taken=taken or 0, out=out or 0)


def readings_of(jobs: Iterable[Job], *, viewer: Person, locale: str) -> Mapping[int, Sequence[ReadingRow]]:
    """Readings by job, oldest first. One query: every reading has a figure."""
    values = ReadingValue.objects.filter(reading__job__in=jobs).select_related(
        "reading__logged_by", "reading__struck_by"
    )
    figures: dict[int, list[ReadingValue]] = defaultdict(list)
    readings: dict[int, Reading] = {}
    for value in values.order_by("reading__happened_at", "reading", "cylinder", "pk"):
        figures[value.reading_id].append(value)
        readings[value.reading_id] = value.reading
    found = defaultdict(list)
    for pk, row in readings.items():
        found[row.job_id].append(_row(row, values=figures[pk], viewer=viewer, locale=locale))
    return found


def _row(row: Reading, *, values: Sequence[ReadingValue], viewer: Person, locale: str) -> ReadingRow:
    taken = (row.point, str(Warmth(row.warmth).label) if row.warmth else "", row.throttle)
    return ReadingRow(
        pk=row.pk,
        word=str(ReadingKind(row.kind).label),
        taken=", ".join(filter(None, taken)),
        figures=_figures(row, values=values, locale=locale),
        verdict=row.verdict,
        verdict_words=row.verdict_words,
        limit_words=row.limit_words,
        remark=row.remark,
        who=row.logged_by.name,
        happened_at=row.happened_at,
        is_struck=row.struck_at is not None,
        struck=_struck(row),
        may_strike=row.struck_at is None and (row.logged_by_id == viewer.pk or access.may_use_desk(viewer)),
    )


def _struck(row: Reading) -> str:
    if row.struck_by is None:
        return ""
    return _("%(reason)s (%(who)s)") % {"reason": row.struck_reason, "who": row.struck_by.name}


def _figures(row: Reading, *, values: Sequence[ReadingValue], locale: str) -> str:
    unit = unit_word(row.kind, row.unit)
    shown = ", ".join(_figure(row, one, locale=locale) for one in values)
    time = ""
    if row.minutes_e4 is not None:
        time = _(" in %(minutes)s min") % {"minutes": plain(row.minutes_e4, locale=locale)}
    return f"{shown}\u00a0{unit}{time}" if row.kind != ReadingKind.LEAK_DOWN else f"{shown}{time}"


def _figure(row: Reading, one: ReadingValue, *, locale: str) -> str:
    value = plain(one.value_e4, locale=locale)
    second = "" if one.second_e4 is None else plain(one.second_e4, locale=locale)
    mark = "" if one.verdict != ReadingVerdict.OUT_OF_LIMITS or one.cylinder is None else "!"
    number = f"{one.cylinder}{mark}: " if one.cylinder is not None else ""
    if not second:
        return f"{number}{value}"
    facts = {"value": value, "second": second, "unit": unit_word(row.kind, row.unit)}
    match ReadingKind(row.kind):
        case ReadingKind.COMPRESSION:
            said = _("%(value)s (with oil %(second)s)") % facts
        case ReadingKind.LEAK_DOWN:
            gauge = facts | {"unit": unit_word(ReadingKind.COMPRESSION, row.unit)}
            said = _("%(second)s of %(value)s %(unit)s held") % gauge
        case ReadingKind.FLUID_LOSS:
            said = _("%(value)s lost, %(second)s left") % facts
        case ReadingKind.FULL_THROTTLE:
            said = _("%(value)s with %(second)s in pitch,") % facts
        case _:
            said = f"{value} → {second}"
    return f"{number}{said}"

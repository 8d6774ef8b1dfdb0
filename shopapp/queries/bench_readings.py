"""Readings on the bench page of a job: those taken, and what a tablet needs to judge the next by itself."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shopapp.models import Job, Person, ReadingVerdict
from shopapp.queries.limits_in_force import as_plain, job_limits
from shopapp.queries.reading_rows import ReadingRow, readings_of
from shopapp.queries.readings import DRY, RUNNING, cylinders_shown


@dataclass(frozen=True, kw_only=True)
class BenchReadings:
    """``book`` goes into the page as it is; ``limits`` are its words by kind of reading."""

    rows: Sequence[ReadingRow]
    cylinders: int
    family: str
    limits: Mapping[str, tuple[str, ...]]
    running: tuple[str, ...]
    dry: tuple[str, ...]
    book: Mapping[str, Any]


def bench_readings(job: Job, *, viewer: Person, locale: str) -> BenchReadings:
    """The readings of a job that ``find_job`` found. Two queries."""
    limits = job_limits(job.engine, locale=locale)
    verdicts = {one.value: str(one.label) for one in ReadingVerdict}
    return BenchReadings(
        rows=readings_of([job], viewer=viewer, locale=locale)[job.pk],
        cylinders=cylinders_shown(limits),
        family=limits.family,
        limits={kind.kind: tuple(one.words for one in kind.limits) for kind in limits.kinds},
        running=tuple(RUNNING),
        dry=tuple(DRY),
        book=as_plain(limits) | {"verdicts": verdicts, "locale": locale},
    )

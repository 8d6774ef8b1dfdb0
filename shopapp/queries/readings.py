"""The page of a job's readings, with the limits in force for its engine."""

from dataclasses import dataclass

from shopapp import access
from shopapp.models import Job, Person, ReadingKind, Warmth
from shopapp.queries.jobs import may_log_on
from shopapp.queries.lay_ups import LaidUp, laid_up
from shopapp.queries.limits_in_force import JobLimits, job_limits
from shopapp.queries.reading_rows import ReadingRow, readings_of
from shopapp.queries.vessels import boat_words

CYLINDERS_SHOWN = 6
# what the person is about to do, for the caution that belongs to it
DRY = (ReadingKind.COMPRESSION, ReadingKind.LEAK_DOWN)
RUNNING = (
    *(ReadingKind.OIL_PRESSURE, ReadingKind.FUEL_PRESSURE, ReadingKind.VOLTAGE, ReadingKind.TEMPERATURE),
    *(ReadingKind.FLUID_LOSS, ReadingKind.FULL_THROTTLE),
)


@dataclass(frozen=True, kw_only=True)
class KindLink:
    """One kind of reading to choose."""

    kind: str
    word: str
    is_chosen: bool


@dataclass(frozen=True, kw_only=True)
class ReadingsPage:
    """The readings of a job, and what is needed to log one of a kind."""

    pk: int
    work_order_pk: int
    number: str
    position: int
    boat: str
    family: str
    engine_pk: int | None
    rows: tuple[ReadingRow, ...]
    kinds: tuple[KindLink, ...]
    kind: str
    points: tuple[str, ...]
    limits: tuple[str, ...]
    cylinders: int
    is_run: bool
    laid_up: LaidUp | None
    is_dry: bool
    may_log: bool
    is_desk: bool


def readings_page(job: Job, *, kind: ReadingKind, viewer: Person, locale: str) -> ReadingsPage:
    """The page of a job fetched by ``find_job``. Two queries."""
    limits = job_limits(job.engine, locale=locale)
    offered = next(one for one in limits.kinds if one.kind == kind.value)
    return ReadingsPage(
        pk=job.pk,
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        position=job.position,
        boat=boat_words(job.work_order.vessel),
        family=limits.family,
        engine_pk=job.engine_id,
        rows=tuple(readings_of([job], viewer=viewer, locale=locale)[job.pk]),
        kinds=tuple(
            KindLink(kind=one.kind, word=one.word, is_chosen=one.kind == kind.value) for one in limits.kinds
        ),
        kind=kind.value,
        points=offered.points,
        limits=tuple(_case_words(one.point, one.warmth, one.words) for one in offered.limits),
        cylinders=cylinders_shown(limits),
        is_run=kind in RUNNING,
        laid_up=laid_up(job.engine) if job.engine is not None else None,
        is_dry=kind in DRY,
        may_log=may_log_on(job),
        is_desk=access.may_use_desk(viewer),
    )


def cylinders_shown(limits: JobLimits) -> int:
    """How many cylinders a form shows: those of the family, else the commonest number."""
    return limits.cylinders or CYLINDERS_SHOWN


def _case_words(point: str, warmth: str, words: str) -> str:
    case = ", ".join(filter(None, [point, str(Warmth(warmth).label) if warmth else ""]))
    return f"{case}: {words}" if case else words

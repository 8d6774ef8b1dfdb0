"""Engines in words, with their latest hours, on the boats they hang on."""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.translation import gettext as _

from shopapp.models import (
    Engine,
    EngineMounting,
    EnginePosition,
    HourReading,
    Job,
    Outcome,
    SerialState,
    VesselOwnership,
)
from shopapp.queries.engine_families import FamilyOfEngine, family_of
from shopapp.queries.lay_ups import LaidUp, laid_up
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import boat_words
from shopapp.queries.visits import StageChip, stage_chip

READINGS_SHOWN = 20
JOBS_SHOWN = 50


@dataclass(frozen=True, kw_only=True)
class MountedEngine:
    """An engine on its boat; ``hours``: the latest reading, ``plate``: why it has no serial."""

    pk: int
    vessel_pk: int
    words: str
    serial: str
    plate: str
    position: str
    hours: Decimal | None
    laid_up: LaidUp | None


@dataclass(frozen=True, kw_only=True)
class Reading:
    """Hours as they were read once."""

    hours: Decimal
    source: str
    read_at: datetime


@dataclass(frozen=True, kw_only=True)
class EngineJob:
    """One job on an engine, on whatever boat it hung; ``outcome`` is empty while the job is open.

    ``correction`` is what was done, so it is empty until it was.
    """

    pk: int
    work_order_pk: int
    number: str
    opened_at: datetime
    complaint: str
    correction: str
    outcome: str
    stage: StageChip


@dataclass(frozen=True, kw_only=True)
class EnginePage:
    """One engine: where it hangs, whose it is, its hours over time and the jobs on it (newest first)."""

    pk: int
    words: str
    vessel_pk: int | None
    boat: str
    owner_pk: int | None
    owner: str
    readings: tuple[Reading, ...]
    jobs: tuple[EngineJob, ...]
    family: FamilyOfEngine | None
    laid_up: LaidUp | None
    laid_up_on: EngineJob | None
    conflict: Conflict | None


def engine_words(engine: Engine) -> str:
    """Make and model, or a word for an engine of which nothing is known."""
    return " ".join(filter(None, [engine.make, engine.model])) or _("engine not known yet")


def family_key(*, make: str, model: str) -> str:
    """By what an engine's family is found: make and model, however they were typed; empty without either.

    >>> family_key(make="Petrel Marine", model="P 60") == family_key(make="petrel-marine", model="p60")
    True
    """
    words = [re.sub(r"[\W_]+", "", unicodedata.normalize("NFKC", text).casefold()) for text in (make, model)]
    return "-".join(words) if all(words) else ""


def serial_words(engine: Engine) -> str:
    """The serial, or why there is none."""
    return engine.serial or _("serial: %(why)s") % {"why": SerialState(engine.serial_state).label}


def place_words(position: str) -> str:
    """Where an engine hangs, if there are others beside it."""
    is_alone = position in ("", EnginePosition.SINGLE)
    return "" if is_alone else str(EnginePosition(position).label)


def mounted_engines(vessel_pks: Iterable[int]) -> tuple[MountedEngine, ...]:
    """Engines on these boats now, each with its latest hours; one query, in the order port to starboard."""
    latest = HourReading.objects.filter(engine=OuterRef("engine")).order_by("-read_at", "-pk")
    mountings = (
        EngineMounting.objects.filter(vessel__in=list(vessel_pks), until_date=None)
        .select_related("engine__laid_up_by")
        .annotate(latest_tenths=Subquery(latest.values("tenths")[:1]))
        .order_by("vessel_id", "pk")
    )
    order = EnginePosition.values
    ordered = sorted(mountings, key=lambda mounting: (mounting.vessel_id, order.index(mounting.position)))
    return tuple(_mounted(mounting, tenths=mounting.latest_tenths) for mounting in ordered)


def _mounted(mounting: EngineMounting, *, tenths: int | None) -> MountedEngine:
    return MountedEngine(
        pk=mounting.engine_id,
        vessel_pk=mounting.vessel_id,
        words=engine_words(mounting.engine),
        serial=mounting.engine.serial,
        plate="" if mounting.engine.serial else serial_words(mounting.engine),
        position=place_words(mounting.position),
        hours=_hours(tenths) if tenths is not None else None,
        laid_up=laid_up(mounting.engine),
    )


def mounting_now(engine_pk: int) -> EngineMounting | None:
    """Where an engine hangs now, with its boat. One query."""
    return (
        EngineMounting.objects.filter(engine=engine_pk, until_date=None)
        .select_related("vessel", "engine")
        .first()
    )


def engine_page(
    engine: Engine, *, mounting: EngineMounting | None, conflict: Conflict | None = None
) -> EnginePage:
    """The page of an engine; ``mounting`` comes from ``mounting_now``. Five queries at most."""
    owner = _owner_of(mounting)
    readings: QuerySet[HourReading] = engine.hour_readings.order_by("-read_at", "-pk")[:READINGS_SHOWN]
    return EnginePage(
        pk=engine.pk,
        words=engine_words(engine),
        vessel_pk=mounting.vessel_id if mounting is not None else None,
        boat=boat_words(mounting.vessel) if mounting is not None else "",
        owner_pk=owner.customer_id if owner is not None else None,
        owner=owner.customer.name if owner is not None else "",
        readings=tuple(
            Reading(hours=_hours(row.tenths), source=row.get_source_display(), read_at=row.read_at)
            for row in readings
        ),
        jobs=_jobs(engine),
        family=family_of(engine),
        laid_up=laid_up(engine),
        laid_up_on=_engine_job(engine.laid_up_on) if engine.laid_up_on is not None else None,
        conflict=conflict,
    )


def _jobs(engine: Engine) -> tuple[EngineJob, ...]:
    """What was done on this engine, and on no other of the same boat."""
    rows = Job.objects.filter(engine=engine).select_related("work_order")
    newest = rows.order_by("-work_order__opened_at", "-pk")[:JOBS_SHOWN]
    return tuple(_engine_job(row) for row in newest)


def _engine_job(row: Job) -> EngineJob:
    return EngineJob(
        pk=row.pk,
        work_order_pk=row.work_order_id,
        number=row.work_order.number,
        opened_at=row.work_order.opened_at,
        complaint=row.complaint,
        correction=row.correction if row.outcome == Outcome.DONE else "",
        outcome="" if row.outcome == Outcome.OPEN else str(Outcome(row.outcome).label),
        stage=stage_chip(row.stage),
    )


def _owner_of(mounting: EngineMounting | None) -> VesselOwnership | None:
    if mounting is None:
        return None
    owners = VesselOwnership.objects.filter(vessel=mounting.vessel_id, until_date=None)
    return owners.select_related("customer").first()


def _hours(tenths: int) -> Decimal:
    return Decimal(tenths) / 10

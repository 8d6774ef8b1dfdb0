"""Visits as rows of a list: of a boat, or of a customer."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from shopapp.models import CLOSED_STAGES, Stage, WorkOrder
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class StageChip:
    """A stage as the chip shows it."""

    code: str
    word: str


@dataclass(frozen=True, kw_only=True)
class Visit:
    """One visit of one boat."""

    pk: int
    number: str
    boat: str
    complaint: str
    opened_at: datetime
    promised_date: date | None
    stage: StageChip
    is_open: bool


def stage_chip(stage: str) -> StageChip:
    """The chip of a stage."""
    return StageChip(code=stage.replace("_", "-"), word=str(Stage(stage).label))


def as_visits(rows: Iterable[WorkOrder]) -> tuple[Visit, ...]:
    """Rows for a list; fetch the work orders with their ``vessel``."""
    return tuple(
        Visit(
            pk=row.pk,
            number=row.number,
            boat=boat_words(row.vessel),
            complaint=row.complaint,
            opened_at=row.opened_at,
            promised_date=row.promised_date,
            stage=stage_chip(row.stage),
            is_open=row.stage not in CLOSED_STAGES,
        )
        for row in rows
    )

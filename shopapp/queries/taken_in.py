"""What was taken in, at one glance: the boat, its engines, its state, the people, the terms, the photos."""

from dataclasses import dataclass
from datetime import datetime

from shopapp.models import CLOSED_STAGES, Intake, Photo, WorkOrder
from shopapp.queries.intakes import (
    Content,
    Signature,
    TermRow,
    intake_of,
    shown_terms,
    signature_of,
    stored_content,
    term_rows,
    visit_facts,
)
from shopapp.queries.visits import StageChip, stage_chip


@dataclass(frozen=True, kw_only=True)
class ArrivalPhoto:
    """A photo of how it came."""

    pk: int
    width: int
    height: int
    caption: str


@dataclass(frozen=True, kw_only=True)
class Terms:
    """The terms being written, or those in force; ``content``: what of them is to be signed."""

    pk: int
    rows: tuple[TermRow, ...]
    content: Content
    signature: Signature | None


@dataclass(frozen=True, kw_only=True)
class TakenInPage:
    """The page after a boat was taken in. ``facts`` are those of the intake sheet, as they are now."""

    pk: int
    number: str
    stage: StageChip
    is_open: bool
    is_boat_here: bool
    place: str
    job_pk: int | None
    customer_pk: int
    facts: Content
    terms: Terms | None
    photos: tuple[ArrivalPhoto, ...]


def taken_in_page(work_order: WorkOrder, *, at: datetime) -> TakenInPage:
    """The page about a visit that was fetched with its ``vessel`` and ``customer``. Ten queries at most."""
    facts = visit_facts(work_order, at=at)
    return TakenInPage(
        pk=work_order.pk,
        number=work_order.number,
        stage=stage_chip(work_order.stage),
        is_open=work_order.stage not in CLOSED_STAGES,
        is_boat_here=work_order.is_boat_here,
        place=work_order.place,
        job_pk=work_order.jobs.order_by("position").values_list("pk", flat=True).first(),
        customer_pk=work_order.customer_id,
        facts=facts,
        terms=_terms(intake_of(work_order), work_order=work_order, facts=facts),
        photos=_photos(work_order),
    )


def _terms(intake: Intake | None, *, work_order: WorkOrder, facts: Content) -> Terms | None:
    if intake is None or (intake.signed_at is not None and not intake.shown):
        # nothing was written down, or it was erased with its customer's data
        return None
    if intake.signed_at is None:
        content = shown_terms(intake, number=work_order.number, facts=facts)
    else:
        content = stored_content(intake)
    signature = signature_of(intake, content=content)
    return Terms(pk=intake.pk, rows=term_rows(content), content=content, signature=signature)


def _photos(work_order: WorkOrder) -> tuple[ArrivalPhoto, ...]:
    rows = Photo.objects.filter(work_order=work_order, is_of_arrival=True).order_by("pk")
    return tuple(
        ArrivalPhoto(pk=row.pk, width=row.width, height=row.height, caption=row.caption) for row in rows
    )

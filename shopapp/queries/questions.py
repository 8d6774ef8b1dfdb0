"""What customers ask about their quotes before they answer, and what the shop said."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from shopapp.models import Question, QuoteRevision


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A question and its answer, empty until somebody of the shop wrote one."""

    pk: int
    version: int
    text: str
    asked_at: datetime
    answer: str
    answered_at: datetime | None
    answered_by: str


def questions_of(revision: QuoteRevision) -> tuple[Asked, ...]:
    """The questions about a quote, also about its elder revisions, oldest first. One query."""
    rows = Question.objects.filter(revision__quote=revision.quote_id).select_related("answered_by")
    return tuple(
        Asked(
            pk=row.pk,
            version=row.version,
            text=row.text,
            asked_at=row.asked_at,
            answer=row.answer,
            answered_at=row.answered_at,
            answered_by=row.answered_by.name if row.answered_by is not None else "",
        )
        for row in rows.order_by("asked_at", "pk")
    )


def unanswered_questions() -> "QuerySet[Question]":
    """Questions that still wait for an answer, oldest first, with quote and work order."""
    rows = Question.objects.filter(answered_at__isnull=True)
    return rows.select_related("revision__quote__work_order__customer").order_by("asked_at", "pk")

"""What to show when two people edited one record: who saved, and where the two versions differ."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import models

from shopapp.models import Activity


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One field that was saved one way and typed another."""

    label: str
    saved: str
    typed: str


@dataclass(frozen=True, kw_only=True)
class Conflict:
    """The other person's save, and the differences. Name and moment are empty when they are not known."""

    saved_by: str
    saved_at: datetime | None
    differences: tuple[Difference, ...]


def conflict_over(record: models.Model, *, differences: Sequence[Difference]) -> Conflict:
    """The latest save of a record from the activity chain, with the differences. One query."""
    name = f"{record._meta.model_name}:{record.pk}"
    latest = Activity.objects.filter(record=name).order_by("-seq").first()
    return Conflict(
        saved_by=latest.actor_name if latest is not None else "",
        saved_at=latest.happened_at if latest is not None else None,
        differences=tuple(differences),
    )

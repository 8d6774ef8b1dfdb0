"""Parts used lately, to pick from at the bench: by this shop on engines of the family, else by oneself.

Numbers and names of parts alone: a tablet keeps them. Parts without a number are left out, since whoever
typed their names wrote for their own job.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from shopapp.models import Job, PartCondition, PartUsed, Person

MOST_SHOWN = 8
# one part is often used again and again
ROWS_READ = 60
NO_FAMILY = 0


@dataclass(frozen=True, kw_only=True)
class RecentPart:
    """A part to pick; ``fill`` is what goes into the form, as JSON by the names of its fields."""

    number: str
    description: str
    fill: str


def lately_used(job: Job, *, viewer: Person) -> QuerySet[PartUsed]:
    """The rows to pick from, with ``is_family``; ``recent_parts`` takes the newest. No query yet."""
    family = (job.engine.family_id if job.engine is not None else None) or NO_FAMILY
    used = PartUsed.objects.filter(struck_at=None).exclude(number="")
    used = used.exclude(condition=PartCondition.CUSTOMERS_OWN)
    of_family = _newest(used.filter(job__engine__family=family))
    own = _newest(used.filter(logged_by=viewer.pk))
    is_family = Case(
        When(job__engine__family=family, then=Value(1)), default=Value(0), output_field=IntegerField()
    )
    rows = PartUsed.objects.filter(Q(pk__in=of_family) | Q(pk__in=own))
    return rows.annotate(is_family=is_family)


def recent_parts(rows: Sequence[tuple[Any, ...]]) -> tuple[RecentPart, ...]:
    """The parts used last, each once, from (pk, number, typed name, unit, name on the list, is_family).

    Those of the family; where there are none, whatever else was read.
    """
    newest = sorted(rows, key=lambda row: -row[0])
    found: dict[str, RecentPart] = {}
    for _pk, number, typed, unit, listed, _is_family in [row for row in newest if row[5]] or newest:
        found.setdefault(number.casefold(), _part(number, typed, unit=unit, listed=listed))
    return tuple(found.values())[:MOST_SHOWN]


def _newest(rows: QuerySet[PartUsed]) -> QuerySet[PartUsed, Any]:
    return rows.order_by("-pk").values("pk")[:ROWS_READ]


def _part(number: str, typed: str, *, unit: str, listed: str | None) -> RecentPart:
    # what is on the list is named by the list
    name = "" if listed is not None else typed
    fill = {"line": "", "number": number, "description": name, "unit": unit, "quantity": "1"}
    return RecentPart(number=number, description=listed or typed, fill=json.dumps(fill, ensure_ascii=False))

"""The page on which what was written down at an arrival is put right."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shopapp.models import WorkOrder
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class ArrivalFactsPage:
    """Which visit it is, and what somebody else saved meanwhile."""

    pk: int
    number: str
    boat: str
    customer: str
    is_signed: bool
    conflict: Conflict | None


def arrival_facts_page(work_order: WorkOrder, *, conflict: Conflict | None) -> ArrivalFactsPage:
    """The page of a visit whose boat and customer are at hand. One query."""
    return ArrivalFactsPage(
        pk=work_order.pk,
        number=work_order.number,
        boat=boat_words(work_order.vessel),
        customer=work_order.customer.name,
        is_signed=work_order.intakes.filter(signed_at__isnull=False).exists(),
        conflict=conflict,
    )


def arrival_facts(work_order: WorkOrder) -> Mapping[str, Any]:
    """What is written down now, by the names of the form's fields. No query."""
    names = ("promised_date", "fuel", "keys_tag", "trailer", "loose_gear", "arrival_state")
    return {name: getattr(work_order, name) for name in names}

"""What is offered where something is logged: points of the engine's family, containers, recent parts."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Value

from shopapp.calc.waste import Fullness, Waste, level_of, never_looks
from shopapp.models import FluidCapacity, Job, Person, WasteContainer, WasteKind
from shopapp.queries.fluid_changes import Capacity, capacity_from
from shopapp.queries.recent_parts import RecentPart, lately_used, recent_parts
from shopapp.queries.used_oil import FULLNESS, with_level

POINT, CONTAINER, PART = "point", "container", "part"
NO_FAMILY = 0
MOST_CONTAINERS = 30


@dataclass(frozen=True, kw_only=True)
class ContainerChoice:
    """A container to pour into; ``never`` are the looks of a fluid that it does not take.

    ``value`` is what a form sends: the number that counts, and the name for whoever reads it.
    """

    value: str
    words: str
    is_full: bool
    never: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LogOffers:
    """Names and figures only: a tablet may keep them."""

    capacities: tuple[Capacity, ...]
    containers: tuple[ContainerChoice, ...]
    parts: tuple[RecentPart, ...]


def log_offers(job: Job, *, viewer: Person, locale: str) -> LogOffers:
    """What the forms of a job offer. One query: three tables in the same columns."""
    family = (job.engine.family_id if job.engine is not None else None) or NO_FAMILY
    none, nought = Value(""), Value(0)
    points = FluidCapacity.objects.filter(family=family).values_list(
        *(Value(POINT), "pk", "point", "ml", "amount_e4", nought, "unit", "product", "level_to", "page")
    )
    # solvent is never drained from a boat
    in_use = WasteContainer.objects.filter(ended_at=None).exclude(kind=WasteKind.SOLVENT)
    containers = with_level(in_use).values_list(
        *(Value(CONTAINER), "pk", "name", "size_ml", "poured_ml", "handed_over_ml", "kind", none, none, none)
    )
    used = lately_used(job, viewer=viewer).values_list(
        *(Value(PART), "pk", "number", "is_family", nought, nought, "unit", "description"),
        *("part__description", none),
    )
    rows: list[tuple[Any, ...]] = sorted(
        points.union(containers, used, all=True), key=lambda row: (row[2], row[1])
    )
    return LogOffers(
        capacities=tuple(_capacity(row, locale=locale) for row in rows if row[0] == POINT),
        containers=tuple(_container(row) for row in rows if row[0] == CONTAINER)[:MOST_CONTAINERS],
        parts=recent_parts(
            [
                (pk, number, typed, unit, listed, is_family)
                for source, pk, number, is_family, _amount, _out, unit, typed, listed, _page in rows
                if source == PART
            ]
        ),
    )


def _capacity(row: Sequence[Any], *, locale: str) -> Capacity:
    names = ("", "pk", "point", "ml", "amount_e4", "", "unit", "product", "level_to", "page")
    return capacity_from(dict(zip(names, row, strict=True)), locale=locale)


def _container(row: Sequence[Any]) -> ContainerChoice:
    _source, pk, name, size_ml, poured_ml, handed_over_ml, kind, *_none = row
    found = level_of([poured_ml], handed_over_ml=[handed_over_ml], size_ml=size_ml)
    told = (str(WasteKind(kind).label), str(FULLNESS[found.fullness]))
    return ContainerChoice(
        value=f"{pk}: {name}",
        words=f"{name} ({', '.join(filter(None, told))})",
        is_full=found.fullness in (Fullness.NEARLY_FULL, Fullness.OVER),
        never=tuple(seen.value for seen in never_looks(Waste(kind))),
    )

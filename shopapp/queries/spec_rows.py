"""Which kinds of values the spec book holds, by the names that addresses and files use."""

from collections.abc import Mapping
from typing import Literal

from shopapp.models import (
    Bulletin,
    FluidCapacity,
    KnownFault,
    ReadingLimit,
    ServiceInterval,
    TighteningSpec,
)
from shopapp.models.spec_book import SpecRow

ValueKind = Literal["capacity", "limit", "tightening", "interval", "fault", "bulletin"]
type ValueKey = tuple[ValueKind, int]

MODELS: Mapping[ValueKind, type[SpecRow]] = {
    "capacity": FluidCapacity,
    "limit": ReadingLimit,
    "tightening": TighteningSpec,
    "interval": ServiceInterval,
    "fault": KnownFault,
    "bulletin": Bulletin,
}
_LONGEST = 18


def value_key(slug: str) -> ValueKey | None:
    """The value that an address names, such as ``limit-12``; None for anything else."""
    name, _dash, number = slug.partition("-")
    kind = next((one for one in MODELS if one == name), None)
    if kind is None or not (number.isascii() and number.isdigit() and len(number) <= _LONGEST):
        return None
    return kind, int(number)


def value_slug(row: SpecRow) -> str:
    """How an address names a value."""
    return next(f"{kind}-{row.pk}" for kind, model in MODELS.items() if type(row) is model)

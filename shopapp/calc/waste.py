"""Where drained fluids go: which kind of container takes what, and how full one is.

Amounts are whole millilitres as stored. Kinds kept apart: common practice, no source; local rules first.
"""

# Used oil is kept in closed, labelled containers (40 CFR 279.22) and collected by a transporter who may
# (40 CFR 279.24); a sheen on the water may have to be reported (40 CFR 110.3).
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from shopapp.calc.fluids import Kind, Seen

# a container is called nearly full from here: common practice, no source
NEARLY_FULL_SHARE = 0.9


class Waste(StrEnum):
    """What a container holds, and nothing else; the values are stored."""

    USED_OIL = "used_oil"
    OILY_WATER = "oily_water"
    OILY_FUEL = "oily_fuel"
    COOLANT = "coolant"
    SOLVENT = "solvent"
    OTHER = "other"


class Fullness(StrEnum):
    """How full a container is, by its rows."""

    EMPTY = "empty"
    SOME = "some"
    NEARLY_FULL = "nearly_full"
    OVER = "over"
    # more was handed over than went in by the book
    SHORT = "short"


_OILS = (Kind.GEAR_OIL, Kind.ENGINE_OIL)
_BY_LOOK = {Seen.FUEL: Waste.OILY_FUEL, Seen.MILKY: Waste.OILY_WATER}
_BY_KIND = {Kind.FUEL: Waste.OILY_FUEL, Kind.COOLANT: Waste.COOLANT, Kind.SOLVENT: Waste.SOLVENT}


def belongs_into(kind: Kind, *, seen: Seen) -> Waste | None:
    """Which kind of container a fluid belongs into; None where only the person can tell.

    Fuel and solvent never into used oil, whatever they were drained from; oil with water in it into oily
    water.
    """
    if seen == Seen.FUEL:
        return Waste.OILY_FUEL
    found = _BY_KIND.get(kind) or _BY_LOOK.get(seen)
    return Waste.USED_OIL if found is None and kind in _OILS else found


def takes(waste: Waste, *, kind: Kind, seen: Seen) -> bool:
    """Whether a container of this kind takes it; nothing but solvent into solvent."""
    wanted = belongs_into(kind, seen=seen)
    return waste != Waste.SOLVENT if wanted is None else waste == wanted


def never_looks(waste: Waste) -> tuple[Seen, ...]:
    """The looks of a fluid that this kind of container never takes, whatever the fluid is."""
    looks = (seen for seen in Seen if seen != Seen.NOT_DRAINED)
    return tuple(seen for seen in looks if not any(takes(waste, kind=kind, seen=seen) for kind in Kind))


@dataclass(frozen=True, kw_only=True)
class Level:
    """What is in a container by its rows; below 0 when more was handed over than went in."""

    ml: int
    fullness: Fullness


def level_of(poured_ml: Iterable[int], *, handed_over_ml: Iterable[int], size_ml: int) -> Level:
    """The sum of what went in less the sum of what was handed over, and how full that is."""
    ml = sum(poured_ml) - sum(handed_over_ml)
    return Level(ml=ml, fullness=_fullness(ml, size_ml=size_ml))


def _fullness(ml: int, *, size_ml: int) -> Fullness:
    if ml <= 0:
        return Fullness.EMPTY if ml == 0 else Fullness.SHORT
    if ml > size_ml:
        return Fullness.OVER
    return Fullness.NEARLY_FULL if ml >= NEARLY_FULL_SHARE * size_ml else Fullness.SOME

"""A value judged against a limit of the spec book, in words: in limits, at the edge, out of limits.

A verdict is for the person at the engine and blocks nothing; limits are the maker's.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite

from shopapp.calc.errors import BadInput
from shopapp.calc.units import FACTS, Unit, convert

# how near to a bound is at the edge: common practice, no source
EDGE_OF_BOUND = 0.05
EDGE_OF_RANGE = 0.1
# a share of a temperature depends on where its scale begins, so it has degrees
EDGE_DEGREES = {Unit.CELSIUS: 3.0, Unit.FAHRENHEIT: 5.4}
# converted figures carry floating noise; it must not push a reading over its limit
NOISE = 1e-9


class Verdict(StrEnum):
    """What a reading says; the values are stored."""

    IN_LIMITS = "in_limits"
    AT_EDGE = "at_edge"
    OUT_OF_LIMITS = "out_of_limits"
    NO_LIMIT = "no_limit"

    @property
    def words(self) -> str:
        """As a person reads it."""
        return WORDS[self]


WORDS = {
    Verdict.IN_LIMITS: "in limits",
    Verdict.AT_EDGE: "at the edge",
    Verdict.OUT_OF_LIMITS: "out of limits",
    Verdict.NO_LIMIT: "no limit known",
}
# from the one that says least to the one that says worst
_BY_WEIGHT = (Verdict.NO_LIMIT, Verdict.IN_LIMITS, Verdict.AT_EDGE, Verdict.OUT_OF_LIMITS)


@dataclass(frozen=True, kw_only=True)
class Limit:
    """What is allowed, bounds included, in `unit`; None where a figure has only one (volts, per cent, rpm).

    `edge`: how near to a bound, inside it, is at the edge, in the same unit. None: a twentieth of the bound,
    a tenth of the range where there are two bounds, or 3 °C where a temperature has one.
    """

    minimum: float | None = None
    maximum: float | None = None
    unit: Unit | None = None
    edge: float | None = None

    def __post_init__(self) -> None:
        if self.minimum is None and self.maximum is None:
            raise BadInput("limit", "", "a minimum, a maximum, or both")
        for name in ("minimum", "maximum"):
            bound = getattr(self, name)
            if bound is not None:
                _finite(bound, field=name)
        if self.minimum is not None and self.maximum is not None and self.maximum < self.minimum:
            raise BadInput("maximum", self.maximum, f"a figure of {self.minimum:g} or more, the minimum")
        if self.edge is not None and not (isfinite(self.edge) and self.edge >= 0):
            raise BadInput("edge", self.edge, "a figure of 0 or more")


def judge(value: float, *, unit: Unit | None = None, limit: Limit | None) -> Verdict:
    """The verdict on a value. Just on a bound is still inside; inside but near it is at the edge.

    Raises:
        BadInput: a value that is no finite number, or a unit that measures something else than the limit's.
    """
    _finite(value, field="reading")
    if limit is None:
        return Verdict.NO_LIMIT
    here = _in_unit(value, from_unit=unit, to_unit=limit.unit)
    bounds = [(limit.minimum, 1), (limit.maximum, -1)]
    gaps = [((here - bound) * sign, bound) for bound, sign in bounds if bound is not None]
    if any(gap < -_noise(bound) for gap, bound in gaps):
        return Verdict.OUT_OF_LIMITS
    if any(gap < _edge(limit, bound) - _noise(bound) for gap, bound in gaps):
        return Verdict.AT_EDGE
    return Verdict.IN_LIMITS


def limit_in(limit: Limit, *, unit: Unit) -> Limit:
    """The same limit in another unit, as the other kind of gauge shows it; no verdict changes by it."""
    old = limit.unit
    zero = _in_unit(0.0, from_unit=old, to_unit=unit)
    bounds = {
        name: None if bound is None else _in_unit(bound, from_unit=old, to_unit=unit)
        for name, bound in (("minimum", limit.minimum), ("maximum", limit.maximum))
    }
    # an edge is a difference, so the place of nil on the scale does not enter
    edge = None if limit.edge is None else _in_unit(limit.edge, from_unit=old, to_unit=unit) - zero
    return replace(limit, **bounds, unit=unit, edge=edge)


def edges(limit: Limit) -> tuple[float | None, float | None]:
    """Where the edge begins, above the minimum and below the maximum; None where there is no such bound."""
    least, most = limit.minimum, limit.maximum
    return (
        None if least is None else least + _edge(limit, least),
        None if most is None else most - _edge(limit, most),
    )


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The verdict on several readings together; a reading without a limit says nothing beside another."""
    return max(verdicts, key=_BY_WEIGHT.index, default=Verdict.NO_LIMIT)


def _edge(limit: Limit, bound: float) -> float:
    if limit.edge is not None:
        return limit.edge
    if limit.minimum is not None and limit.maximum is not None:
        return EDGE_OF_RANGE * (limit.maximum - limit.minimum)
    if limit.unit in EDGE_DEGREES:
        return EDGE_DEGREES[limit.unit]
    return EDGE_OF_BOUND * abs(bound)


def _noise(bound: float) -> float:
    return NOISE * max(1.0, abs(bound))


def _in_unit(value: float, *, from_unit: Unit | None, to_unit: Unit | None) -> float:
    if from_unit == to_unit:
        return value
    if from_unit is None or to_unit is None:
        wanted = "no unit" if to_unit is None else f"a figure in {FACTS[to_unit].symbol}"
        raise BadInput("unit", "" if from_unit is None else FACTS[from_unit].symbol, wanted)
    return convert(value, from_unit=from_unit, to_unit=to_unit)


def _finite(value: float, *, field: str) -> None:
    if not isfinite(value):
        raise BadInput(field, value, "a finite number")

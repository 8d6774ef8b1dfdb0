"""The limits of an engine family: for the verdict here, and as plain facts for a tablet to judge offline."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from shopapp.calc.limits import Limit, edges, limit_in
from shopapp.calc.readings import LossLimit
from shopapp.calc.units import FACTS, Unit, convert
from shopapp.calc.verdicts import BY_CYLINDER, Allowed, Case, Kind, fitting, units_of
from shopapp.models import Engine, EngineFamily, ReadingKind, ReadingLimit
from shopapp.queries.figures import E4
from shopapp.queries.limit_words import limit_words, throttle_words, unit_word
from shopapp.queries.reading_words import DECIMALS, SENTENCES, USUAL_DECIMALS

NO_CYLINDERS = 0


@dataclass(frozen=True, kw_only=True)
class InForce:
    """A limit with what it is for, in words as it is frozen beside a reading."""

    case: Case
    allowed: Allowed
    words: str


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """A limit in one unit, with where its edges begin; None where there is no such bound."""

    minimum: float | None
    low_edge: float | None
    maximum: float | None
    high_edge: float | None


@dataclass(frozen=True, kw_only=True)
class UnitLimits:
    """A limit as it is in one unit. Over time: ``bounds`` of what is lost a minute, or in an hour."""

    bounds: Bounds | None
    spread: Bounds | None
    minutes: float | None
    least: float | None


@dataclass(frozen=True, kw_only=True)
class OfferedLimit:
    """A limit for the tablet: what it is for, in words, and in each unit that a gauge may show."""

    point: str
    warmth: str
    words: str
    by_unit: Mapping[str, UnitLimits]


@dataclass(frozen=True, kw_only=True)
class OfferedKind:
    """A kind of reading with its units (code and sign) and its limits."""

    kind: str
    word: str
    units: tuple[tuple[str, str], ...]
    limits: tuple[OfferedLimit, ...]
    points: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class JobLimits:
    """What the spec book says of a job's engine, in plain values that go into a page as JSON."""

    family: str
    cylinders: int
    kinds: tuple[OfferedKind, ...]
    sentences: Mapping[str, str]
    decimals: Mapping[str, int]
    usual_decimals: int


def limits_of(family: EngineFamily | None, *, locale: str) -> Mapping[Kind, Sequence[InForce]]:
    """Every limit of a family by kind of reading. One query; none without a family."""
    found: dict[Kind, list[InForce]] = {kind: [] for kind in Kind}
    if family is None:
        return found
    for row in ReadingLimit.objects.filter(family=family).order_by("kind", "point", "warmth", "pk"):
        found[Kind(row.kind)].append(_in_force(row, locale=locale))
    lowest, highest = family.throttle_from_rpm, family.throttle_to_rpm
    if lowest is not None and highest is not None:
        words = throttle_words(lowest, highest, page=family.throttle_page)
        limit = Limit(minimum=float(lowest), maximum=float(highest))
        found[Kind.FULL_THROTTLE].append(InForce(case=Case(), allowed=Allowed(limit=limit), words=words))
    return found


def limit_for(limits: Sequence[InForce], *, point: str, warmth: str) -> InForce | None:
    """The limit by which a reading taken there and so is judged; None where the book has none."""
    place = fitting([one.case for one in limits], point=point, warmth=warmth)
    return None if place is None else limits[place]


def job_limits(engine: Engine | None, *, locale: str) -> JobLimits:
    """What a tablet needs to judge the readings of a job by itself.

    One query where the engine came with its family, two where it did not.
    """
    family = engine.family if engine is not None else None
    limits = limits_of(family, locale=locale)
    return JobLimits(
        family=f"{family}" if family is not None else "",
        cylinders=(family.cylinders if family is not None else None) or NO_CYLINDERS,
        kinds=tuple(offered_kind(kind, limits=limits[kind]) for kind in Kind),
        sentences={finding.value: str(sentence) for finding, sentence in SENTENCES.items()},
        decimals={finding.value: places for finding, places in DECIMALS.items()},
        usual_decimals=USUAL_DECIMALS,
    )


def _in_force(row: ReadingLimit, *, locale: str) -> InForce:
    unit = Unit(row.unit) if row.unit else None
    least, most = _float(row.minimum_e4), _float(row.maximum_e4)
    is_loss = row.kind == ReadingKind.FLUID_LOSS
    limit = None
    if most is not None or (least is not None and not is_loss):
        limit = Limit(minimum=None if is_loss else least, maximum=most, unit=unit)
    loss = None
    if row.loss_e4 is not None and row.loss_minutes_e4 is not None and unit is not None:
        loss = LossLimit(loss=row.loss_e4 / E4, minutes=row.loss_minutes_e4 / E4, unit=unit)
    return InForce(
        case=Case(point=row.point, warmth=row.warmth),
        allowed=Allowed(
            limit=limit,
            least=least if is_loss else None,
            least_unit=unit if is_loss else None,
            most_spread=_float(row.most_spread_e4),
            loss=loss,
        ),
        words=limit_words(row, locale=locale),
    )


def offered_kind(kind: Kind, *, limits: Sequence[InForce]) -> OfferedKind:
    """A kind of reading for the tablet: each of its limits in every unit of a gauge."""
    units = units_of(kind)
    points = dict.fromkeys(one.case.point for one in limits if one.case.point and kind not in BY_CYLINDER)
    return OfferedKind(
        kind=kind.value,
        word=str(ReadingKind(kind.value).label),
        units=tuple(
            (one.value, FACTS[one].symbol) if one is not None else ("", unit_word(kind.value, ""))
            for one in units
        ),
        limits=tuple(
            OfferedLimit(
                point=one.case.point,
                warmth=one.case.warmth,
                words=one.words,
                by_unit={
                    unit.value if unit is not None else "": _in_unit(one.allowed, unit) for unit in units
                },
            )
            for one in limits
        ),
        points=tuple(points),
    )


def _in_unit(allowed: Allowed, unit: Unit | None) -> UnitLimits:
    limit = allowed.limit
    if allowed.loss is not None:
        limit = Limit(maximum=allowed.loss.loss / allowed.loss.minutes, unit=allowed.loss.unit)
    if limit is not None and limit.unit is not None and unit is not None:
        limit = limit_in(limit, unit=unit)
    least = allowed.least
    if least is not None and allowed.least_unit is not None and unit is not None:
        least = convert(least, from_unit=allowed.least_unit, to_unit=unit)
    spread = Limit(maximum=allowed.most_spread) if allowed.most_spread is not None else None
    return UnitLimits(
        bounds=_bounds(limit),
        spread=_bounds(spread),
        minutes=allowed.loss.minutes if allowed.loss is not None else None,
        least=least,
    )


def _bounds(limit: Limit | None) -> Bounds | None:
    if limit is None:
        return None
    low, high = edges(limit)
    return Bounds(minimum=limit.minimum, low_edge=low, maximum=limit.maximum, high_edge=high)


def _float(e4: int | None) -> float | None:
    return None if e4 is None else e4 / E4


def as_plain(limits: JobLimits) -> dict[str, Any]:
    """The same as dictionaries and lists, for ``json_script``."""
    return asdict(limits)

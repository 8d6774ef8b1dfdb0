"""In which stages fasteners are tightened, and whether a torque fits its fastener.

The maker's own values win; a torque that looks wrong is asked about and never blocked.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import isfinite, pi

from shopapp.calc.errors import BadInput
from shopapp.calc.patterns import Pattern
from shopapp.calc.units import FACTS, Unit, convert, units_like

# a preload between this share of the proof load and all of it is in proportion: common practice, no source
LEAST_OF_PROOF = 0.25
# stages where the spec book has none: common practice, no source
USUAL_SHARES = (0.5, 1.0)


class StageKind(StrEnum):
    """What is done to each fastener in a stage."""

    TORQUE = "torque"
    ANGLE = "angle"
    CHECK = "check"  # the full torque once more, without loosening


@dataclass(frozen=True, kw_only=True)
class Stage:
    """One round over all fasteners, to a torque in `unit`, or by an angle in degrees (unit None).

    `goes_round`: in the order of the numbers instead of crossing.
    """

    kind: StageKind
    value: float
    unit: Unit | None = None
    goes_round: bool = False

    def __post_init__(self) -> None:
        if self.kind == StageKind.ANGLE:
            if self.unit is not None:
                raise BadInput("unit", FACTS[self.unit].symbol, "no unit: an angle is in degrees")
            if not 0 < self.value <= 360:
                raise BadInput("angle", self.value, "degrees above 0 and up to 360")
        else:
            _torque(self.value, unit=self.unit)


@dataclass(frozen=True, kw_only=True)
class Round:
    """A stage with its order: each fastener exactly once."""

    stage: Stage
    order: tuple[int, ...]


def usual_stages(
    torque: float, *, unit: Unit, shares: Sequence[float] = USUAL_SHARES, check_goes_round: bool = False
) -> tuple[Stage, ...]:
    """Rising shares of a torque, the last the whole of it, then the check.

    Raises:
        BadInput: shares that do not rise to 1, or a torque that is none.
    """
    rising = all(low < high for low, high in pairwise(shares))
    if not (shares and rising and shares[0] > 0 and shares[-1] == 1):
        raise BadInput(
            "stages", ", ".join(f"{one:g}" for one in shares), "shares that rise to 1, such as 0.5, 1"
        )
    return (
        *(Stage(kind=StageKind.TORQUE, value=torque * share, unit=unit) for share in shares),
        Stage(kind=StageKind.CHECK, value=torque, unit=unit, goes_round=check_goes_round),
    )


def torque_then_angle(torque: float, *, unit: Unit, degrees: Sequence[float]) -> tuple[Stage, ...]:
    """A torque that seats the fasteners, then one or more turns by an angle; nothing is checked by torque."""
    if not degrees:
        raise BadInput("angle", "", "one angle or more in degrees")
    turns = (Stage(kind=StageKind.ANGLE, value=one) for one in degrees)
    return (Stage(kind=StageKind.TORQUE, value=torque, unit=unit), *turns)


def rounds(pattern: Pattern, *, stages: Iterable[Stage]) -> tuple[Round, ...]:
    """Every stage over all fasteners, in order."""
    by_number = tuple(sorted(pattern.order))
    found = tuple(Round(stage=one, order=by_number if one.goes_round else pattern.order) for one in stages)
    if not found:
        raise BadInput("stages", "", "one stage or more")
    return found


class FastenerKind(StrEnum):
    """Only a bolt's or a stud's stretch says what torque it stands."""

    BOLT = "bolt"
    STUD = "stud"
    PLUG = "plug"
    IN_CASTING = "in_casting"  # the thread in the casting gives way first


class Surface(StrEnum):
    """How the thread meets the torque."""

    BLACK = "black"
    ZINC = "zinc"
    LUBRICATED = "lubricated"
    CADMIUM = "cadmium"
    ANTI_SEIZE = "anti_seize"


# Shigley's Mechanical Engineering Design, 9th ed., Table 8-15
NUT_FACTORS = {
    Surface.BLACK: 0.3,
    Surface.ZINC: 0.2,
    Surface.LUBRICATED: 0.18,
    Surface.CADMIUM: 0.16,
    Surface.ANTI_SEIZE: 0.12,
}
# proof stress in MPa by property class: ISO 898-1; stainless, its 0.2 % limit: ISO 3506-1; both from memory
PROOF_STRESS = {
    "4.6": 225.0,
    "5.8": 380.0,
    "8.8": 580.0,
    "10.9": 830.0,
    "12.9": 970.0,
    "A2-50": 210.0,
    "A2-70": 450.0,
    "A4-70": 450.0,
    "A4-80": 600.0,
}


@dataclass(frozen=True, kw_only=True)
class Fastener:
    """A metric fastener: thread diameter and pitch in mm, property class, and its surface."""

    diameter: float
    pitch: float
    property_class: str
    kind: FastenerKind = FastenerKind.BOLT
    surface: Surface = Surface.ZINC

    def __post_init__(self) -> None:
        if not (isfinite(self.diameter) and self.diameter > 0):
            raise BadInput("diameter", self.diameter, "a diameter above 0 mm")
        if not 0 < self.pitch < self.diameter / 2:
            raise BadInput("pitch", self.pitch, "a pitch above 0 mm and under half of the diameter")
        if self.property_class not in PROOF_STRESS:
            raise BadInput("property class", self.property_class, "one of " + ", ".join(PROOF_STRESS))

    @property
    def proof_load(self) -> float:
        """In newtons: proof stress × tensile stress area π/4·(d − 0.9382·P)². ISO 898-1, from memory."""
        return PROOF_STRESS[self.property_class] * pi / 4 * (self.diameter - 0.9382 * self.pitch) ** 2

    @property
    def proof_torque(self) -> float:
        """The torque in N·m that stretches it to its proof load."""
        millimetres = torque_for(
            self.proof_load, diameter=self.diameter, nut_factor=NUT_FACTORS[self.surface]
        )
        return millimetres / 1000


def torque_for(preload: float, *, diameter: float, nut_factor: float) -> float:
    """T = K·D·F, in the unit of preload × diameter (lbf and in give lbf·in; N and mm give N·mm).

    Source: Shigley's Mechanical Engineering Design, 9th ed., section 8-8. Friction makes it a rule of thumb.
    """
    _above_nil(preload, field="preload")
    _above_nil(diameter, field="diameter")
    _above_nil(nut_factor, field="nut factor")
    return nut_factor * diameter * preload


def preload_of(torque: float, *, diameter: float, nut_factor: float) -> float:
    """F = T/(K·D), the other way round."""
    _above_nil(torque, field="torque")
    _above_nil(diameter, field="diameter")
    _above_nil(nut_factor, field="nut factor")
    return torque / (nut_factor * diameter)


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """A torque out of proportion: it would load the fastener to `of_proof` of its proof load (1 = all of it).

    `fits_in`: units in which the same figure would be in proportion, so a slip of the unit is likely.
    """

    of_proof: float
    fits_in: tuple[Unit, ...]
    question: str


def torque_doubt(stages: Iterable[Stage], *, fastener: Fastener) -> Doubt | None:
    """Whether the full torque of some stages is out of proportion to the fastener; None where nothing is odd.

    Not asked for plugs, for threads in castings, nor where an angle follows: those torques say nothing of
    the stretch.
    """
    given = tuple(stages)
    if fastener.kind in {FastenerKind.PLUG, FastenerKind.IN_CASTING}:
        return None
    if any(one.kind == StageKind.ANGLE for one in given):
        return None
    torques = [(_newton_metres(one.value, unit=one.unit), one) for one in given if one.unit is not None]
    if not torques:
        return None
    full, stage = max(torques, key=lambda one: one[0])
    of_proof = full / fastener.proof_torque
    return None if _fits(of_proof) else _doubt(of_proof, stage=stage, fastener=fastener)


def _doubt(of_proof: float, *, stage: Stage, fastener: Fastener) -> Doubt:
    fitting = tuple(
        unit
        for unit in units_like(Unit.NEWTON_METRE)
        if unit != stage.unit and _fits(_newton_metres(stage.value, unit=unit) / fastener.proof_torque)
    )
    much = "more" if of_proof > 1 else "less"
    name = f"M{fastener.diameter:g} of class {fastener.property_class}"
    symbol = FACTS[stage.unit].symbol if stage.unit else ""
    slip = "".join(f" Is {FACTS[unit].symbol} meant?" for unit in fitting)
    question = f"{stage.value:g} {symbol} is {much} than an {name} usually gets.{slip} Look at the manual."
    return Doubt(of_proof=of_proof, fits_in=fitting, question=question)


def _fits(of_proof: float) -> bool:
    return LEAST_OF_PROOF <= of_proof <= 1


def _newton_metres(value: float, *, unit: Unit | None) -> float:
    return convert(value, from_unit=unit or Unit.NEWTON_METRE, to_unit=Unit.NEWTON_METRE)


def _torque(value: float, *, unit: Unit | None) -> None:
    _above_nil(value, field="torque")
    fitting = units_like(Unit.NEWTON_METRE)
    if unit not in fitting:
        symbol = "" if unit is None else FACTS[unit].symbol
        raise BadInput("unit", symbol, "one of " + ", ".join(FACTS[one].symbol for one in fitting))


def _above_nil(value: float, *, field: str) -> None:
    if not (isfinite(value) and value > 0):
        raise BadInput(field, value, "a figure above 0")

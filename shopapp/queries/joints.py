"""A joint as a step keeps it: as the spec book had it, whatever is written there later.

Kept are the places and the order of the fasteners, each stage in both units, what to mind, and the page.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shopapp.calc.patterns import Drawing, Place, drawn
from shopapp.calc.tightening import Fastener, FastenerKind, Surface, torque_doubt
from shopapp.models import PatternKind, TighteningSpec, TighteningStage
from shopapp.queries.figures import E4
from shopapp.queries.spec_words import pattern_words, stage_words
from shopapp.queries.tightening import pattern_of_spec, rounds_of, stage_of


@dataclass(frozen=True, kw_only=True)
class KeptStage:
    """One round: what it says in both units, and the fasteners' numbers in their order."""

    words: str
    order: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class KeptJoint:
    """A joint that was kept. ``question``: what is asked about a torque out of proportion."""

    name: str
    family: str
    page: str
    pattern: str
    is_makers: bool
    is_one_time: bool
    treatment: str
    question: str
    is_looked_up: bool
    stages: tuple[KeptStage, ...]
    drawing: Drawing

    @property
    def fasteners(self) -> tuple[int, ...]:
        """How many fasteners each stage has."""
        return tuple(len(one.order) for one in self.stages)


def kept(spec: TighteningSpec, *, stages: Sequence[TighteningStage], locale: str) -> dict[str, Any]:
    """What a step keeps of a joint of the spec book. No query."""
    pattern = pattern_of_spec(spec)
    ordered = sorted(stages, key=lambda one: one.position)
    across, down = _proportions(spec)
    return {
        "name": spec.joint,
        "family": f"{spec.family}",
        "page": spec.page,
        "pattern": pattern_words(spec),
        "is_makers": bool(spec.sequence),
        "is_one_time": spec.is_one_time,
        "treatment": spec.treatment,
        "question": question_of(spec, stages=ordered),
        "is_looked_up": spec.is_looked_up,
        "across": across,
        "down": down,
        "places": [[one.number, one.x, one.y] for one in pattern.places],
        "stages": [
            {
                "words": stage_words(row, locale=locale),
                "kind": row.kind,
                "value_e4": row.value_e4,
                "unit": row.unit,
                "order": list(one.order),
            }
            for row, one in zip(ordered, rounds_of(spec, stages=ordered), strict=True)
        ],
    }


def joint_of(told: Mapping[str, Any]) -> KeptJoint | None:
    """The joint that a step keeps; None for a plain step."""
    if not told:
        return None
    places = [Place(number=number, x=x, y=y) for number, x, y in told["places"]]
    return KeptJoint(
        name=told["name"],
        family=told["family"],
        page=told["page"],
        pattern=told["pattern"],
        is_makers=told["is_makers"],
        is_one_time=told["is_one_time"],
        treatment=told["treatment"],
        question=told["question"],
        is_looked_up=told["is_looked_up"],
        stages=tuple(KeptStage(words=one["words"], order=tuple(one["order"])) for one in told["stages"]),
        drawing=drawn(places, across=told["across"], down=told["down"]),
    )


def question_of(spec: TighteningSpec, *, stages: Sequence[TighteningStage]) -> str:
    """What is asked about a torque out of proportion; empty where nothing is odd. No query."""
    if spec.diameter_e4 is None or spec.pitch_e4 is None or not spec.property_class:
        return ""
    fastener = Fastener(
        diameter=spec.diameter_e4 / E4,
        pitch=spec.pitch_e4 / E4,
        property_class=spec.property_class,
        kind=FastenerKind(spec.fastener or FastenerKind.BOLT),
        surface=Surface(spec.surface or Surface.ZINC),
    )
    doubt = torque_doubt([stage_of(one) for one in stages], fastener=fastener)
    return doubt.question if doubt is not None else ""


def _proportions(spec: TighteningSpec) -> tuple[int, int]:
    """How wide and how high the joint is drawn: a row by its gaps, a circle as wide as high."""
    if spec.pattern == PatternKind.CIRCLE:
        return 1, 1
    return max(spec.columns - 1, 1), max(spec.rows - 1, 1)

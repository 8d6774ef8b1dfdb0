"""How a joint is tightened, as somebody may write it into the spec book."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from shopapp.actions.spec_values import ValueInput
from shopapp.calc import tightening
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_e4
from shopapp.calc.patterns import by_the_maker
from shopapp.calc.tightening import Fastener, Stage, torque_doubt
from shopapp.calc.units import Unit
from shopapp.models import PatternKind, StageKind, TighteningSpec, TighteningStage
from shopapp.queries.tightening import pattern_of

MOST_STAGES = 6


@dataclass(frozen=True, kw_only=True)
class StageInput:
    """One round: to a torque in ``unit``, or by an angle in degrees."""

    kind: StageKind
    value: Decimal
    unit: Unit | None = None
    goes_round: bool = False

    def as_stage(self) -> Stage:
        """For the calculation. Raises BadInput for a torque without its unit, or more than a turn."""
        return Stage(
            kind=tightening.StageKind(self.kind),
            value=float(self.value),
            unit=self.unit,
            goes_round=self.goes_round,
        )


@dataclass(frozen=True, kw_only=True)
class TighteningInput(ValueInput):
    """A joint. A circle and a row have ``columns_count`` fasteners; ``fastener`` may be unknown.

    ``is_looked_up``: somebody looked a torque up once more that is out of proportion to its fastener.
    """

    model = TighteningSpec
    once_by = ("joint",)
    joint: str
    pattern: PatternKind
    columns_count: int
    rows_count: int = 1
    sequence: tuple[int, ...] = ()
    stages: tuple[StageInput, ...] = ()
    is_one_time: bool = False
    treatment: str = ""
    fastener: Fastener | None = None
    is_looked_up: bool = False

    def columns(self) -> dict[str, Any]:
        if not self.joint.strip():
            raise BadInput("joint", self.joint, _("the name of the joint"))
        self._require_pattern()
        self._require_stages()
        if self.question() and not self.is_looked_up:
            raise BadInput("is_looked_up", "", _("a tick, once the manual was looked at again"))
        one = self.fastener
        return {
            "joint": self.joint.strip(),
            "pattern": self.pattern,
            "columns": self.columns_count,
            "rows": self.rows_count,
            "sequence": list(self.sequence),
            "is_one_time": self.is_one_time,
            "treatment": self.treatment,
            "diameter_e4": None if one is None else round(one.diameter * 10_000),
            "pitch_e4": None if one is None else round(one.pitch * 10_000),
            "property_class": "" if one is None else one.property_class,
            "fastener": "" if one is None else one.kind.value,
            "surface": "" if one is None else one.surface.value,
            "is_looked_up": self.is_looked_up,
        }

    def question(self) -> str:
        """What is asked about a torque out of proportion to its fastener; empty where nothing is odd."""
        if self.fastener is None:
            return ""
        doubt = torque_doubt([one.as_stage() for one in self.stages], fastener=self.fastener)
        return doubt.question if doubt is not None else ""

    def _require_pattern(self) -> None:
        pattern = pattern_of(self.pattern, columns=self.columns_count, rows=self.rows_count)
        if self.sequence:
            try:
                by_the_maker(pattern, sequence=self.sequence)
            except BadInput as error:
                raise BadInput("sequence", error.value, error.accepted) from None

    def _require_stages(self) -> None:
        if not 1 <= len(self.stages) <= MOST_STAGES:
            accepted = _("1 to %(most)s stages") % {"most": MOST_STAGES}
            raise BadInput("stages", len(self.stages), accepted)
        if self.stages[0].kind != StageKind.TORQUE:
            raise BadInput("stages", self.stages[0].kind.label, _("a torque as the first stage"))
        for one in self.stages:
            one.as_stage()


def write_stages(spec: TighteningSpec, stages: tuple[StageInput, ...]) -> None:
    """Put these stages in the place of those that were there, inside the caller's transaction."""
    spec.stages.all().delete()
    TighteningStage.objects.bulk_create(
        TighteningStage(spec=spec, position=place, **stage_columns(one))
        for place, one in enumerate(stages, start=1)
    )


def stage_columns(one: StageInput) -> dict[str, Any]:
    """The columns of a stage, its place left out."""
    return {
        "kind": one.kind,
        "value_e4": to_e4(one.value, field="stages"),
        "unit": one.unit.value if one.unit is not None else "",
        "goes_round": one.goes_round,
    }

"""Joints of the spec book as the calculation takes them: their pattern, their stages, their rounds."""

from collections.abc import Sequence

from shopapp.calc import tightening
from shopapp.calc.patterns import Pattern, by_the_maker, circle, grid, line, rectangle
from shopapp.calc.tightening import Round, Stage, rounds
from shopapp.calc.units import Unit
from shopapp.models import PatternKind, TighteningSpec, TighteningStage
from shopapp.queries.figures import E4


def pattern_of(kind: PatternKind, *, columns: int, rows: int, sequence: Sequence[int] = ()) -> Pattern:
    """Where the fasteners stand and in which order they are tightened; the maker's own order wins.

    Raises BadInput for counts that make no pattern, or a sequence that does not hold each fastener once.
    """
    match PatternKind(kind):
        case PatternKind.CIRCLE:
            pattern = circle(columns)
        case PatternKind.LINE:
            pattern = line(columns)
        case PatternKind.GRID:
            pattern = grid(columns=columns, rows=rows)
        case PatternKind.RECTANGLE:
            pattern = rectangle(columns=columns, rows=rows)
    return by_the_maker(pattern, sequence=sequence) if sequence else pattern


def pattern_of_spec(spec: TighteningSpec) -> Pattern:
    """The pattern of a joint. No query."""
    return pattern_of(
        PatternKind(spec.pattern), columns=spec.columns, rows=spec.rows, sequence=tuple(spec.sequence)
    )


def stage_of(row: TighteningStage) -> Stage:
    """A stage for the calculation. No query."""
    return Stage(
        kind=tightening.StageKind(row.kind),
        value=row.value_e4 / E4,
        unit=Unit(row.unit) if row.unit else None,
        goes_round=row.goes_round,
    )


def rounds_of(spec: TighteningSpec, *, stages: Sequence[TighteningStage]) -> tuple[Round, ...]:
    """Every stage of a joint over all its fasteners, in order. No query."""
    ordered = sorted(stages, key=lambda one: one.position)
    return rounds(pattern_of_spec(spec), stages=[stage_of(one) for one in ordered])

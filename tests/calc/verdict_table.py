"""The table of readings and verdicts that the calculation and the tablet's script are both held to."""

import json
from pathlib import Path
from typing import Any

from shopapp.calc.limits import Limit
from shopapp.calc.readings import LossLimit
from shopapp.calc.units import Unit
from shopapp.calc.verdicts import Allowed, Figure, Kind, Measured

TABLE: dict[str, Any] = json.loads((Path(__file__).parent / "verdict_cases.json").read_text(encoding="utf-8"))
CASES: list[dict[str, Any]] = TABLE["cases"]
FITTING: list[dict[str, Any]] = TABLE["fitting"]


def measured_of(case: dict[str, Any]) -> Measured:
    """The reading of a case."""
    return Measured(
        kind=Kind(case["kind"]),
        unit=unit_of(case["unit"]),
        minutes=case.get("minutes"),
        figures={
            int(number): Figure(value=pair[0], second=pair[1] if len(pair) > 1 else None)
            for number, pair in case["figures"].items()
        },
    )


def allowed_of(case: dict[str, Any]) -> Allowed:
    """What the spec book of a case allows."""
    given = case.get("limit")
    if given is None:
        return Allowed()
    unit, is_loss = unit_of(given.get("unit")), case["kind"] == Kind.FLUID_LOSS
    least, most = given.get("minimum"), given.get("maximum")
    limit = None
    if most is not None or (least is not None and not is_loss):
        limit = Limit(minimum=None if is_loss else least, maximum=most, unit=unit)
    loss = None
    if "loss" in given and unit is not None:
        loss = LossLimit(loss=given["loss"], minutes=given["loss_minutes"], unit=unit)
    return Allowed(
        limit=limit,
        least=least if is_loss else None,
        least_unit=unit if is_loss else None,
        most_spread=given.get("most_spread"),
        loss=loss,
    )


def unit_of(code: str | None) -> Unit | None:
    """A unit by its code."""
    return Unit(code) if code else None

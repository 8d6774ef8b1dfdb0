"""The verdict on any reading: the table that the tablet's script is held to as well, and what is refused."""

from typing import Any

import pytest

from shopapp.calc.errors import BadInput
from shopapp.calc.units import Unit
from shopapp.calc.verdicts import (
    ALONE,
    BY_CYLINDER,
    Allowed,
    Case,
    Figure,
    Finding,
    Kind,
    Measured,
    fitting,
    judged,
    limit_units_of,
    units_of,
)
from tests.calc.verdict_table import CASES, FITTING, allowed_of, measured_of


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_reading_is_judged_as_the_table_says(case: dict[str, Any]) -> None:
    found = judged(measured_of(case), allowed=allowed_of(case))

    assert found.verdict.value == case["verdict"]
    assert {str(number): one.value for number, one in found.figures.items()} == case["by_figure"]
    assert [[one.finding.value, one.cylinder] for one in found.said] == [one[:2] for one in case["said"]]
    figures = [(one.figure, told[2]) for one, told in zip(found.said, case["said"], strict=True)]
    assert all(one == told or one == pytest.approx(told, abs=1e-9) for one, told in figures)


@pytest.mark.parametrize("case", FITTING, ids=lambda case: case["name"])
def test_limit_that_fits_best_is_found(case: dict[str, Any]) -> None:
    cases = [Case(point=point, warmth=warmth) for point, warmth in case["cases"]]

    assert fitting(cases, point=case["point"], warmth=case["warmth"]) == case["place"]


def test_every_kind_and_every_finding_stands_in_the_table() -> None:
    assert {case["kind"] for case in CASES} == {kind.value for kind in Kind}
    assert {one[0] for case in CASES for one in case["said"]} == {finding.value for finding in Finding}


def reading(kind: Kind, **changes: Any) -> Measured:
    number = 1 if kind in BY_CYLINDER else ALONE
    facts: dict[str, Any] = {
        "unit": units_of(kind)[0],
        "figures": {number: Figure(value=5, second=4)},
        "minutes": 5.0,
    }
    return Measured(kind=kind, **facts | changes)


@pytest.mark.parametrize("kind", Kind)
def test_reading_without_a_limit_says_so(kind: Kind) -> None:
    assert judged(reading(kind), allowed=Allowed()).verdict.value == "no_limit"


@pytest.mark.parametrize(
    ("measured", "field"),
    [
        (reading(Kind.COMPRESSION, unit=Unit.LITRE), "unit"),
        (reading(Kind.COMPRESSION, unit=None), "unit"),
        (reading(Kind.VOLTAGE, unit=Unit.BAR), "unit"),
        (reading(Kind.COMPRESSION, figures={}), "value"),
        (reading(Kind.COMPRESSION, figures={ALONE: Figure(value=5)}), "value"),
        (reading(Kind.VOLTAGE, figures={1: Figure(value=5)}), "value"),
        (reading(Kind.LEAK_DOWN, figures={1: Figure(value=5)}), "second"),
        (reading(Kind.LEAK_DOWN, figures={1: Figure(value=5, second=6)}), "pressure held"),
        (reading(Kind.GEARCASE_VACUUM, minutes=None), "minutes"),
        (reading(Kind.GEARCASE_VACUUM, figures={ALONE: Figure(value=5)}), "second"),
        (reading(Kind.FLUID_LOSS, minutes=0.0), "running time"),
    ],
    ids=lambda value: value if isinstance(value, str) else value.kind.value,
)
def test_reading_that_can_not_be_is_refused(measured: Measured, field: str) -> None:
    with pytest.raises(BadInput) as refused:
        judged(measured, allowed=Allowed())

    assert refused.value.field == field


def test_limits_are_written_in_the_units_of_the_reading_but_leaks_in_per_cent() -> None:
    assert limit_units_of(Kind.LEAK_DOWN) == (None,)
    assert limit_units_of(Kind.COMPRESSION) == (Unit.KILOPASCAL, Unit.PSI, Unit.BAR, Unit.INCH_OF_MERCURY)
    assert units_of(Kind.TEMPERATURE) == (Unit.CELSIUS, Unit.FAHRENHEIT)
    assert Unit.LITRE in units_of(Kind.FLUID_LOSS)

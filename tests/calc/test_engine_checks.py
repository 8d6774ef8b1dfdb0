"""Which published engine checks are replayed where, and the reason for each that is not."""

from pathlib import Path

import pytest

from tests.reference.cases import cases, ids

REPLAYED = {
    "test_readings.py": ("ENG-033", "ENG-035", "ENG-037", "ENG-040"),
    "test_fluids.py": ("ENG-026", "ENG-028", "ENG-029", "ENG-030", "ENG-032"),
    "test_tightening.py": ("ENG-001", "ENG-003", "ENG-006", "ENG-008"),
    "test_patterns.py": ("ENG-009",),
    "test_propeller.py": ("ENG-016", "ENG-018", "ENG-020"),
}
NOT_APPLYING = {
    "ENG-004": "the scatter of one series of bolts: no sum of the shop's; why a torque is only asked about",
    "ENG-010": "fuel flow from power: the shop doesn't estimate what an engine burns",
    "ENG-012": "fuel flow from power, as ENG-010",
    "ENG-014": "fuel flow from power, as ENG-010; and its source is wrong",
    "ENG-015": "fuel flow by a rule of thumb, as ENG-010",
    "ENG-021": "efficiency of hours belongs to job costing, not to the engine",
    "ENG-023": "utilisation of hours belongs to job costing",
    "ENG-024": "productivity of hours belongs to job costing",
    "ENG-038": "the orifice of an aircraft tester: a shop's tester comes with its own",
    "ENG-039": "fuel is measured here, never weighed",
}
WHERE = [(name, id_) for name, replayed in REPLAYED.items() for id_ in replayed]


def test_every_published_case_is_replayed_or_listed() -> None:
    assert sorted([*(id_ for _, id_ in WHERE), *NOT_APPLYING]) == sorted(ids(cases("engine_checks")))


@pytest.mark.parametrize(("name", "id_"), WHERE)
def test_replayed_case_stands_in_its_module(name: str, id_: str) -> None:
    source = (Path(__file__).parent / name).read_text(encoding="utf-8")

    assert f'case("engine_checks", "{id_}")' in source

"""Reads the published cases beside this file; each case names its source and how far it was read there."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


@dataclass(frozen=True, kw_only=True)
class Case:
    """One published case: what goes in, what the source says comes out."""

    id: str
    topic: str
    inputs: dict[str, Any]
    expected: dict[str, Any]
    source: dict[str, Any]
    provenance: str
    notes: str
    replay: str

    def __str__(self) -> str:
        return self.id


def cases(group: str) -> list[Case]:
    """Every case of a file, in its order."""
    raw = json.loads((FOLDER / f"{group}.json").read_text(encoding="utf-8"))
    return [
        Case(
            id=one["id"],
            topic=one["topic"],
            inputs=one["inputs"],
            expected=one["expected"],
            source=one["source"],
            provenance=one["provenance_class"],
            notes=one["notes"],
            replay=one.get("replay", ""),
        )
        for one in raw["cases"]
    ]


def case(group: str, id_: str) -> Case:
    """One case by its id."""
    return next(one for one in cases(group) if one.id == id_)


def ids(some: list[Case]) -> set[str]:
    """The ids of some cases."""
    return {one.id for one in some}

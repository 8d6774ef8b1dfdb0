"""A drawn signature is kept in its shape, or refused."""

import json

import pytest

from shopapp.actions.signatures import checked_strokes
from shopapp.calc.errors import BadInput

POINT = {"x": 10.5, "y": 20, "time": 1, "pressure": 0.5}
DRAWING = {"width": 600, "height": 240, "strokes": [{"points": [POINT, POINT]}]}


def test_drawing_is_kept_as_it_came() -> None:
    kept = checked_strokes(json.dumps(DRAWING, indent=2))

    assert json.loads(kept) == DRAWING


def test_nothing_drawn_is_nothing_kept() -> None:
    assert checked_strokes("") == ""


@pytest.mark.parametrize(
    "text",
    [
        "x",
        "[]",
        "null",
        "{}",
        "[" * 100_000,
        json.dumps(DRAWING | {"name": "x"}),
        json.dumps(DRAWING | {"width": 601}),
        json.dumps(DRAWING | {"strokes": []}),
        json.dumps(DRAWING | {"strokes": {}}),
        json.dumps(DRAWING | {"strokes": [[]]}),
        json.dumps(DRAWING | {"strokes": [{"points": []}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT], "penColor": "red"}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT | {"x": "10"}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT | {"x": True}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT | {"x": float("nan")}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT | {"x": float("inf")}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT | {"y": 10**400}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT | {"y": 481}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT | {"pressure": 1.1}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [{"x": 1, "y": 1}]}]}),
        json.dumps(DRAWING | {"strokes": [{"points": [POINT]}] * 301}),
        json.dumps(DRAWING | {"strokes": [{"points": [{"x": 1, "y": 1, "time": 1, "pressure": 0}] * 8001}]}),
        '{"width":600,"height":240,"strokes":[{"points":[{"x":' + "9" * 5000 + "}]}]}",
    ],
)
def test_other_shape_is_refused_by_field(text: str) -> None:
    with pytest.raises(BadInput) as refusal:
        checked_strokes(text)

    assert refusal.value.field == "strokes"

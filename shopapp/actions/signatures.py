"""A drawn signature as it comes from the pad: checked for size and shape, and kept without anything else."""

import json
from typing import Any

from django.utils.translation import gettext as _

from shopapp.calc.errors import BadInput

LONGEST = 400_000
MOST_STROKES = 300
MOST_POINTS = 8_000
WIDTH, HEIGHT = 600, 240
# a finger may leave the pad
BEYOND = 2
PARTS = ("x", "y", "time", "pressure")
DAY_MS = 86_400_000


def checked_strokes(text: str) -> str:
    """The drawing as JSON with numbers only; an empty text stays empty. Raises BadInput (``strokes``).

    Shape: ``{"width": 600, "height": 240, "strokes": [{"points": [{"x", "y", "time", "pressure"}, …]}, …]}``,
    at most 300 strokes and 8,000 points.
    """
    if not text:
        return ""
    if len(text) > LONGEST:
        raise _unreadable(text)
    drawing = _parsed(text)
    if not isinstance(drawing, dict) or set(drawing) != {"width", "height", "strokes"}:
        raise _unreadable(text)
    strokes = [_stroke(one) for one in _list(drawing["strokes"], most=MOST_STROKES)]
    if (drawing["width"], drawing["height"]) != (WIDTH, HEIGHT) or not strokes:
        raise _unreadable(text)
    if sum(len(stroke["points"]) for stroke in strokes) > MOST_POINTS:
        raise _unreadable(text)
    return json.dumps({"width": WIDTH, "height": HEIGHT, "strokes": strokes}, separators=(",", ":"))


def _unreadable(text: object) -> BadInput:
    return BadInput("strokes", str(text)[:20], _("a drawing from the pad: clear it and sign once more"))


def _parsed(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as error:
        raise _unreadable(text) from error


def _list(value: Any, *, most: int) -> list[Any]:
    if not isinstance(value, list) or not 0 < len(value) <= most:
        raise _unreadable(value)
    return value


def _stroke(value: Any) -> dict[str, list[dict[str, float]]]:
    if not isinstance(value, dict) or set(value) != {"points"}:
        raise _unreadable(value)
    return {"points": [_point(one) for one in _list(value["points"], most=MOST_POINTS)]}


def _point(value: Any) -> dict[str, float]:
    if not isinstance(value, dict) or set(value) != set(PARTS):
        raise _unreadable(value)
    reach = {"x": WIDTH * BEYOND, "y": HEIGHT * BEYOND, "time": DAY_MS, "pressure": 1}
    return {part: _number(value[part], most=reach[part]) for part in PARTS}


def _number(value: Any, *, most: float) -> float:
    # NaN lies between no two numbers, so it is refused here as well
    if isinstance(value, bool) or not isinstance(value, int | float) or not -most <= value <= most:
        raise _unreadable(value)
    return value

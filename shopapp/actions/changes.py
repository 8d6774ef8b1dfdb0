"""What an edit changes, and how the activity chain tells it."""

from collections.abc import Mapping
from typing import Any

from django.db import models


def changed(row: models.Model, values: Mapping[str, Any]) -> dict[str, Any]:
    """Those values that differ from what the row holds."""
    return {name: value for name, value in values.items() if getattr(row, name) != value}


def told(row: models.Model, changes: Mapping[str, Any]) -> dict[str, str]:
    """Before and after of each changed field, as facts for the chain; ``row`` is as it was before."""
    return {name: f"{_shown(getattr(row, name))} → {_shown(value)}" for name, value in changes.items()}


def _shown(value: Any) -> str:
    return "–" if value in (None, "") else str(value)

"""Canonical text of what is shown on paper and screen, and its hash.

Canonical: UTF-8 JSON, sorted keys, no spaces, decimals as text, no floats; so the same content always has
the same bytes, and a hash of it proves what was shown.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

Content = Mapping[str, Any]


def canonical(content: Content) -> str:
    """The canonical text. Refuses (TypeError) all but text, whole numbers, booleans, None, lists and maps."""
    _refuse_inexact(content)
    return json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def digest(text: str) -> str:
    """SHA-256 of the canonical text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def _refuse_inexact(value: Any) -> None:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise TypeError(f"{key!r}: a key of what is shown must be text")
            _refuse_inexact(inner)
    elif isinstance(value, list):
        for inner in value:
            _refuse_inexact(inner)
    elif not (value is None or isinstance(value, str | int)):
        raise TypeError(f"{value!r}: what is shown holds text and whole numbers only")

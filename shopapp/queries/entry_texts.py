"""The text of a tablet's entry, read: what is not plainly an entry is not guessed at."""

import json
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from shopapp.queries.entries import Written

# the one kind of entry that holds what a customer wrote, with a drawing
SIGNATURE = "signature"
LONGEST_ENTRY, LONGEST_SIGNATURE = 20_000, 600_000
_MOST = 2_000_000_000
_MOST_AHEAD = timedelta(days=36_500)


def read_entry(text: str) -> Written | None:
    """What stands in the text, or ``None`` when it is not an entry as the tablet writes them."""
    if len(text) > LONGEST_SIGNATURE:
        return None
    try:
        written = _written(json.loads(text))
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        return None
    return written if len(text) <= LONGEST_ENTRY or written.kind == SIGNATURE else None


def _written(told: Any) -> Written:
    return Written(
        id=UUID(told["id"]),
        device=_number(told["device"]),
        sequence=_number(told["sequence"]),
        person=_perhaps(told["person"]),
        key=UUID(told["key"]) if told["key"] is not None else None,
        kind=require_text(told["kind"]),
        job=_perhaps(told["job"]),
        at=read_moment(told["at"]),
        ahead=_ahead(told["offset_ms"]),
        content={require_text(name): require_text(value) for name, value in told["content"].items()},
    )


def read_moment(text: Any) -> datetime:
    """A moment with its zone, as ISO 8601 writes it. Raises ValueError for any other text."""
    moment = datetime.fromisoformat(require_text(text))
    if moment.tzinfo is None or not 1970 <= moment.year <= 9000:
        raise ValueError(text)
    return moment


def _number(value: Any) -> int:
    if type(value) is not int or not 0 < value <= _MOST:
        raise ValueError(value)
    return value


def _perhaps(value: Any) -> int | None:
    return None if value is None else _number(value)


def require_text(value: Any) -> str:
    """The text, once it is one that a database can keep; raises ValueError otherwise."""
    # NUL is no character of any text, and PostgreSQL keeps none
    if not isinstance(value, str) or "\x00" in value:
        raise ValueError(value)
    # half of a pair is no text that a database can hold
    value.encode()
    return value


def _ahead(value: Any) -> timedelta | None:
    if value is None:
        return None
    if type(value) not in (int, float):
        raise ValueError(value)
    ahead = timedelta(milliseconds=value)
    if abs(ahead) > _MOST_AHEAD:
        raise ValueError(value)
    return ahead

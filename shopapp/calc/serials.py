"""Whether a serial lies in a maker's range: letters must be the same, what is counted is the last number."""

import re
import unicodedata
from enum import StrEnum

_LIKE = re.compile(r"(?P<letters>.*?)(?P<count>\d{1,18})(?P<tail>\D*)", re.ASCII | re.DOTALL)


class InRange(StrEnum):
    """Whether a range covers a serial; where it can't be told, a person looks."""

    YES = "yes"
    NO = "no"
    LOOK = "look"


def in_range(serial: str, *, first: str, last: str) -> InRange:
    """Whether ``serial`` lies between the bounds, both included; an empty bound is open.

    Makers number in many ways. It is told only where the letters before and after the count are those of the
    bounds; anything else is for a person to look at, never a silent no.

    >>> in_range("PM60-01250", first="PM60-01000", last="PM60-01999")
    <InRange.YES: 'yes'>
    """
    if not first.strip() and not last.strip():
        return InRange.YES
    own = _parts(serial)
    bounds = [(_parts(bound), sign) for bound, sign in ((first, 1), (last, -1)) if bound.strip()]
    if own is None or any(bound is None for bound, _ in bounds):
        return InRange.LOOK
    known = [(bound, sign) for bound, sign in bounds if bound is not None]
    if any((bound[0], bound[2]) != (own[0], own[2]) for bound, _ in known):
        return InRange.LOOK
    return InRange.YES if all((own[1] - bound[1]) * sign >= 0 for bound, sign in known) else InRange.NO


def _parts(serial: str) -> tuple[str, int, str] | None:
    found = _LIKE.fullmatch(unicodedata.normalize("NFKC", serial).casefold())
    return (_plain(found["letters"]), int(found["count"]), _plain(found["tail"])) if found else None


def _plain(text: str) -> str:
    return re.sub(r"[\W_]+", "", text)

"""A fluid change reckoned up: what was lost, left or gained, and what was in it; oil for mixed fuel.

Amounts are whole millilitres as stored. Everything here asks and nothing blocks.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from shopapp.calc.errors import BadInput

# measuring cups and drain pans are no nearer than this: common practice, no source
MEASURED_WITHIN_ML = 10
MEASURED_WITHIN_SHARE = 0.05


def whole_ml(value: int, *, field: str, least: int = 0) -> int:
    """The amount as it is. Fluids are stored as whole millilitres, so a float is a fault of the caller."""
    if not isinstance(value, int):
        raise TypeError(f"{field}: a stored volume is int, never {type(value).__name__}")
    if value < least:
        raise BadInput(field, value, f"an amount of {least} ml or more")
    return value


class Kind(StrEnum):
    """What is changed; it says what may have got in."""

    GEAR_OIL = "gear_oil"
    ENGINE_OIL = "engine_oil"
    OTHER = "other"


class Seen(StrEnum):
    """What the drained fluid looked like; the values are stored."""

    NOT_DRAINED = "not_drained"
    CLEAN = "clean"
    MILKY = "milky"
    METAL = "metal"
    FUEL = "fuel"


class Balance(StrEnum):
    """What a change shows, allowing for what can be measured."""

    LEVEL = "level"  # neither
    LOST = "lost"
    LOST_OR_LEFT = "lost_or_left"  # less came out than fits, and nothing is filled in yet
    GAINED = "gained"
    UNKNOWN = "unknown"


_GOT_IN = {
    Kind.GEAR_OIL: "Is there water in it?",
    Kind.ENGINE_OIL: "Is there fuel or water in it?",
    Kind.OTHER: "What got into it?",
}
_NOTED = {
    Seen.MILKY: "It came out milky: find where the water gets in.",
    Seen.METAL: "There was metal in it: look where it comes from.",
    Seen.FUEL: "There was fuel in it: find where it gets in.",
}


@dataclass(frozen=True, kw_only=True)
class Change:
    """What came out of one point and what went in, to its mark. `capacity_ml`: of the spec book, if known.

    `filled_ml` is 0 while nothing is filled in yet.
    """

    kind: Kind
    drained_ml: int
    filled_ml: int
    capacity_ml: int | None = None
    seen: Seen = Seen.NOT_DRAINED

    def __post_init__(self) -> None:
        whole_ml(self.drained_ml, field="drained")
        whole_ml(self.filled_ml, field="filled")
        if self.drained_ml == 0 and self.filled_ml == 0:
            raise BadInput("drained and filled", 0, "one of the two above 0 ml")
        if self.capacity_ml is not None:
            whole_ml(self.capacity_ml, field="capacity", least=1)
        if self.drained_ml == 0 and self.seen != Seen.NOT_DRAINED:
            raise BadInput("condition", self.seen, f"{Seen.NOT_DRAINED}, since nothing was drained")


@dataclass(frozen=True, kw_only=True)
class Reckoning:
    """A change reckoned up. Of `lost_ml` and `gained_ml` one is 0; None is not known.

    `left_ml`: old fluid that stayed in; `over_ml`: filled beyond the capacity. `questions` are for the person
    who did it.
    """

    balance: Balance
    lost_ml: int | None
    gained_ml: int | None
    left_ml: int | None
    over_ml: int | None
    questions: tuple[str, ...]


def reckon(change: Change) -> Reckoning:
    """What a change says about the fluid before it.

    Filled to the mark, what went in is what was missing plus what came out: lost = filled − drained (below 0:
    gained), left in = capacity − filled. Not filled yet, only the capacity can be compared, and what is short
    of it may be lost or still inside. Arithmetic, no source.
    """
    missing = _missing(change)
    balance = _balance(change, missing=missing)
    room = (
        None if change.capacity_ml is None or change.filled_ml == 0 else change.capacity_ml - change.filled_ml
    )
    return Reckoning(
        balance=balance,
        lost_ml=None if missing is None or balance == Balance.LOST_OR_LEFT else max(missing, 0),
        gained_ml=None if missing is None else max(-missing, 0),
        left_ml=None if room is None else max(room, 0),
        over_ml=None if room is None else max(-room, 0),
        questions=_questions(change, missing=missing, balance=balance, room=room),
    )


def measured_within(amount_ml: int) -> int:
    """How far two measured amounts of this size may differ and still be called the same. Common practice."""
    return max(MEASURED_WITHIN_ML, round(MEASURED_WITHIN_SHARE * amount_ml))


def mix_oil(fuel: float, *, ratio: float) -> float:
    """Two-stroke oil for an amount of fuel at ratio:1, in the unit of the fuel. Arithmetic.

    Raises:
        BadInput: fuel below 0, or a ratio below 1.
    """
    if not (isfinite(fuel) and fuel >= 0):
        raise BadInput("fuel", fuel, "an amount of 0 or more")
    if not (isfinite(ratio) and ratio >= 1):
        raise BadInput("ratio", ratio, "parts of fuel to one of oil, such as 50")
    return fuel / ratio


def _missing(change: Change) -> int | None:
    """What was missing of a full fill before the change; below 0: there was more than a full fill."""
    if change.filled_ml:
        return change.filled_ml - change.drained_ml
    return None if change.capacity_ml is None else change.capacity_ml - change.drained_ml


def _balance(change: Change, *, missing: int | None) -> Balance:
    if missing is None:
        return Balance.UNKNOWN
    if abs(missing) <= measured_within(max(change.filled_ml, change.capacity_ml or 0)):
        return Balance.LEVEL
    if missing < 0:
        return Balance.GAINED
    return Balance.LOST if change.filled_ml else Balance.LOST_OR_LEFT


def _questions(change: Change, *, missing: int | None, balance: Balance, room: int | None) -> tuple[str, ...]:
    asked = []
    if change.seen in _NOTED:
        asked.append(_NOTED[change.seen])
    if balance == Balance.GAINED and missing is not None:
        asked.append(f"{-missing} ml more came out than belongs in. {_GOT_IN[change.kind]}")
    if balance == Balance.LOST:
        asked.append(f"{missing} ml were missing. Where did they go?")
    if balance == Balance.LOST_OR_LEFT:
        asked.append(f"{missing} ml less came out than fits. Lost before, or still inside?")
    asked += _on_room(change, room=room)
    return tuple(asked)


def _on_room(change: Change, *, room: int | None) -> list[str]:
    if room is None or change.capacity_ml is None or abs(room) <= measured_within(change.capacity_ml):
        return []
    if room < 0:
        return [f"{-room} ml more went in than fits. Is the amount right?"]
    # a top-up leaves the old fluid in on purpose
    return [f"{room} ml of the old fluid stayed in. Did it drain to the end?"] if change.drained_ml else []

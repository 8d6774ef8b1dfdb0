"""A fluid change reckoned up: what was lost, left or gained, and what was in it; oil for mixed fuel.

Amounts are whole millilitres as stored. Everything here asks and nothing blocks.
"""

from collections.abc import Sequence
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
    """What is changed; it says what may have got in, and where the old fluid may go."""

    GEAR_OIL = "gear_oil"
    ENGINE_OIL = "engine_oil"
    FUEL = "fuel"
    COOLANT = "coolant"
    SOLVENT = "solvent"
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


class Ask(StrEnum):
    """What a change makes somebody ask who has to answer for it."""

    MILKY = "milky"
    METAL = "metal"
    FUEL = "fuel"
    GAINED = "gained"
    LOST = "lost"
    LOST_OR_LEFT = "lost_or_left"
    OVER = "over"
    LEFT = "left"


# the words by which people name a point or a fluid, the telling ones first
_WORDS = (
    (Kind.COOLANT, ("coolant", "antifreeze", "glycol")),
    (Kind.SOLVENT, ("solvent", "thinner", "parts washer", "brake cleaner")),
    (Kind.GEAR_OIL, ("gear", "lower unit")),
    # before fuel: an oil may say that it is for fuel injection
    (Kind.ENGINE_OIL, ("engine oil", "motor oil", "stroke oil")),
    (Kind.FUEL, ("fuel", "petrol", "gasoline", "diesel")),
    (Kind.ENGINE_OIL, ("engine", "sump", "crankcase", "powerhead")),
)
_NOTED = {Seen.MILKY: Ask.MILKY, Seen.METAL: Ask.METAL, Seen.FUEL: Ask.FUEL}


def point_key(words: str) -> str:
    """By what two names of a point are the same: letters and figures alone, whatever their case.

    >>> point_key("Gear case "), point_key("gearcase")
    ('gearcase', 'gearcase')
    """
    return "".join(sign for sign in words.casefold() if sign.isalnum())


def kind_of(*, point: str, product: str) -> Kind:
    """What a fluid is by its name, else by where it is; a name that says nothing is some other fluid."""
    for words in (product.casefold(), point.casefold()):
        for kind, names in _WORDS:
            if any(name in words for name in names):
                return kind
    return Kind.OTHER


@dataclass(frozen=True, kw_only=True)
class Moved:
    """What one entry says of a point: so much came out, so much went in."""

    point: str
    product: str
    drained_ml: int
    filled_ml: int
    seen: Seen


@dataclass(frozen=True, kw_only=True)
class Change:
    """What came out of one point and what went in, to its mark. `capacity_ml`: of the spec book, if known.

    `filled_ml` is 0 while nothing is filled in yet; `seen` is all that the drained fluid looked like.
    """

    kind: Kind
    drained_ml: int
    filled_ml: int
    capacity_ml: int | None = None
    seen: tuple[Seen, ...] = ()

    def __post_init__(self) -> None:
        whole_ml(self.drained_ml, field="drained")
        whole_ml(self.filled_ml, field="filled")
        if self.drained_ml == 0 and self.filled_ml == 0:
            raise BadInput("drained and filled", 0, "one of the two above 0 ml")
        if self.capacity_ml is not None:
            whole_ml(self.capacity_ml, field="capacity", least=1)
        if self.drained_ml == 0 and self.seen:
            raise BadInput("condition", self.seen[0], f"{Seen.NOT_DRAINED}, since nothing was drained")


@dataclass(frozen=True, kw_only=True)
class Question:
    """Something to ask, with the amount that it is about (None: it is about no amount)."""

    ask: Ask
    amount_ml: int | None = None


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
    questions: tuple[Question, ...]


def changes_of(rows: Sequence[Moved], *, capacity_ml: int | None) -> tuple[Change, ...]:
    """The changes of one point, from its entries in the order in which they happened.

    What is drained after something was filled in begins a new change: a gearcase that is filled, run and
    drained again was changed twice. What is only added belongs to the change before it. Common practice, no
    source.
    """
    rounds: list[list[Moved]] = []
    for row in rows:
        is_filled = bool(rounds) and any(one.filled_ml for one in rounds[-1])
        if not rounds or (row.drained_ml and is_filled):
            rounds.append([])
        rounds[-1].append(row)
    return tuple(_change(one, capacity_ml=capacity_ml) for one in rounds)


def _change(rows: Sequence[Moved], *, capacity_ml: int | None) -> Change:
    named = next((row for row in rows if row.product), rows[0])
    looks = [row.seen for row in rows if row.drained_ml and row.seen != Seen.NOT_DRAINED]
    return Change(
        kind=kind_of(point=named.point, product=named.product),
        drained_ml=sum(row.drained_ml for row in rows),
        filled_ml=sum(row.filled_ml for row in rows),
        capacity_ml=capacity_ml,
        seen=tuple(dict.fromkeys(looks)),
    )


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


def _questions(
    change: Change, *, missing: int | None, balance: Balance, room: int | None
) -> tuple[Question, ...]:
    asked = [Question(ask=_NOTED[one]) for one in change.seen if one in _NOTED]
    if missing is not None and balance not in (Balance.LEVEL, Balance.UNKNOWN):
        asked.append(Question(ask=Ask(balance), amount_ml=abs(missing)))
    return (*asked, *_on_room(change, room=room))


def _on_room(change: Change, *, room: int | None) -> list[Question]:
    if room is None or change.capacity_ml is None or abs(room) <= measured_within(change.capacity_ml):
        return []
    if room < 0:
        return [Question(ask=Ask.OVER, amount_ml=-room)]
    # a top-up leaves the old fluid in on purpose
    return [Question(ask=Ask.LEFT, amount_ml=room)] if change.drained_ml else []

"""Whether what happened on a visit fits what its customer agreed to: without tax, over all of it, in coins.

A fixed job costs what was agreed; one with a ceiling at most that; any other what was used. Common practice.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from shopapp.calc.money import Rounding, quantize

COIN = Decimal(1)
MILLI = 1_000
WHOLE_SHARE = 10_000


class Bargain(StrEnum):
    """How a job is charged: a fixed price, what was used up to a ceiling, or simply what was used."""

    FIXED = "fixed"
    CEILING = "ceiling"
    AS_USED = "as_used"


class Standing(StrEnum):
    """How a row of the actual book stands to what was agreed; the last four keep it off the bill."""

    COUNTS = "counts"
    IN_THE_PRICE = "in_the_price"
    BY_OWNER = "by_owner"
    BEFORE_THE_PRICE = "before_the_price"
    EXTRA = "extra"
    NO_ROOM = "no_room"
    NOT_PRICED = "not_priced"


HELD = frozenset({Standing.BEFORE_THE_PRICE, Standing.EXTRA, Standing.NO_ROOM, Standing.NOT_PRICED})
# what somebody has to hear of: work that nobody agreed to
BEYOND = frozenset({Standing.EXTRA, Standing.NO_ROOM})


@dataclass(frozen=True, kw_only=True)
class Deal:
    """What was agreed for one job, in coins."""

    bargain: Bargain
    agreed: int = 0


NO_DEAL = Deal(bargain=Bargain.AS_USED)


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One row that the customer would pay, in exact coins; ``exact`` is None while it has no price.

    Pieces of one ``group`` are billed in one line and rounded together (hours at one rate).
    """

    key: tuple[str, int]
    job: int
    exact: Fraction | None
    group: tuple[int | str, ...]
    is_planned: bool = False
    is_by_owner: bool = False
    is_billed: bool = False
    is_before: bool = False
    is_in_fee: bool = False


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """One row weighed: how it stands, and what it adds to the bill (or would add)."""

    piece: Piece
    standing: Standing
    coins: int


@dataclass
class _Scale:
    """What is on the bill so far."""

    rounding: Rounding
    room: int
    groups: dict[tuple[int | str, ...], Fraction] = field(default_factory=dict)
    left: dict[int, int] = field(default_factory=dict)

    def coins_of(self, piece: Piece) -> int:
        """What the piece adds to the line it goes into."""
        if piece.exact is None:
            return 0
        before = self.groups.get(piece.group, Fraction(0))
        return whole_coins(before + piece.exact, rounding=self.rounding) - whole_coins(
            before, rounding=self.rounding
        )

    def put_on(self, piece: Piece, *, coins: int) -> None:
        """Count it."""
        self.groups[piece.group] = self.groups.get(piece.group, Fraction(0)) + (piece.exact or 0)
        self.room -= coins
        if piece.job in self.left:
            self.left[piece.job] -= coins


def whole_coins(exact: Fraction, *, rounding: Rounding) -> int:
    """An exact number of coins as the shop rounds it, once."""
    return int(quantize(exact, exponent=COIN, mode=Rounding(rounding).value))


def less(amount: Fraction, *, share_e4: int) -> Fraction:
    """The amount less a share in 1/10,000."""
    return amount * (WHOLE_SHARE - share_e4) / WHOLE_SHARE


def allowed(authorised: int, *, over_e4: int) -> int:
    """How far the bill may go: what was agreed and the share the shop's rules allow on top, rounded down."""
    return authorised + authorised * over_e4 // WHOLE_SHARE


def weigh(
    pieces: Iterable[Piece], *, deals: Mapping[int, Deal], limit: int, rounding: Rounding
) -> tuple[Weighed, ...]:
    """Each row, oldest first, as it stands to what was agreed; ``limit`` coins may be billed in all.

    Fixed prices take their room first, then what is billed already, then row after row in the order given:
    a row that does not fit waits, and a later smaller one may still fit, so that a new row never changes
    how an older one stands. Above its ceiling a job's rows add nothing and need no room. A job without a
    deal costs what was used.
    """
    fixed = sum(deal.agreed for deal in deals.values() if deal.bargain == Bargain.FIXED)
    ceilings = {job: deal.agreed for job, deal in deals.items() if deal.bargain == Bargain.CEILING}
    scale = _Scale(rounding=rounding, room=limit - fixed, left=ceilings)
    in_order = sorted(pieces, key=lambda piece: not piece.is_billed)
    return tuple(_weighed(piece, deal=deals.get(piece.job, NO_DEAL), scale=scale) for piece in in_order)


def _weighed(piece: Piece, *, deal: Deal, scale: _Scale) -> Weighed:
    standing = _standing(piece, deal=deal)
    coins = scale.coins_of(piece)
    if standing == Standing.COUNTS:
        coins = min(coins, max(scale.left.get(piece.job, coins), 0))
        if coins > scale.room and not piece.is_billed:
            return Weighed(piece=piece, standing=Standing.NO_ROOM, coins=coins)
        scale.put_on(piece, coins=coins)
    return Weighed(piece=piece, standing=standing, coins=0 if standing == Standing.IN_THE_PRICE else coins)


def _standing(piece: Piece, *, deal: Deal) -> Standing:
    """How it stands before anybody asks whether it fits; what the diagnosis fee pays takes no room."""
    if piece.is_in_fee and not piece.is_billed:
        return Standing.IN_THE_PRICE
    is_fixed = deal.bargain == Bargain.FIXED
    if is_fixed and not piece.is_by_owner:
        return _beside_a_price(piece)
    if piece.exact is None:
        return Standing.NOT_PRICED
    return Standing.BY_OWNER if piece.is_by_owner else Standing.COUNTS


def _beside_a_price(piece: Piece) -> Standing:
    """Of a fixed price: extra work is extra before anybody has priced it."""
    if piece.is_planned:
        return Standing.IN_THE_PRICE
    return Standing.BEFORE_THE_PRICE if piece.is_before else Standing.EXTRA


def beyond(weighed: Sequence[Weighed]) -> int:
    """What the rows come to that nobody agreed to, in coins."""
    return sum(one.coins for one in weighed if one.standing in BEYOND)

"""How a price is made: markup by cost band, shop supplies, billed hours, minimum charge, margin and markup.

Common practice, no source, except where a formula names one. Shares are 0 to 1; `why` is for the owner.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from shopapp.calc.errors import BadInput
from shopapp.calc.money import PRICE_DECIMALS, Rounding, quantize, require_decimal, round_money

PRICE_STEP = Decimal(1).scaleb(-PRICE_DECIMALS)
SHARE_STEP = Decimal("0.0001")
CENT = Decimal("0.01")
NIL = Decimal(0)
HALF_UP = Rounding.HALF_UP.value


class Basis(StrEnum):
    """What a part's price is made from: cost plus markup, the supplier's list price, or the greater."""

    COST = "cost"
    LIST = "list"
    GREATER = "greater"


@dataclass(frozen=True, kw_only=True)
class Band:
    """Costs up to and including `up_to` (None: all above) are marked up by this share of the cost."""

    up_to: Decimal | None
    markup: Decimal

    def __post_init__(self) -> None:
        if self.up_to is not None and require_decimal(self.up_to, field="band up to") <= 0:
            raise BadInput("band up to", self.up_to, "a cost above 0")
        _require_not_negative(self.markup, field="markup")

    def holds(self, cost: Decimal) -> bool:
        """Whether the cost lies in or below this band."""
        return self.up_to is None or cost <= self.up_to

    def __str__(self) -> str:
        return "all above" if self.up_to is None else f"up to {_plain(self.up_to)}"


@dataclass(frozen=True, kw_only=True)
class PriceRule:
    """The markup schedule: bands from the cheapest up, the last one open; prices half up to `step`."""

    basis: Basis
    bands: tuple[Band, ...]
    step: Decimal = CENT

    def __post_init__(self) -> None:
        limits = [band.up_to for band in self.bands[:-1]]
        if not self.bands or self.bands[-1].up_to is not None:
            raise BadInput("markup schedule", len(self.bands), "bands of which the last has no upper end")
        rising = [limit for limit in limits if limit is not None]
        if len(rising) < len(limits) or rising != sorted(set(rising)):
            raise BadInput("markup schedule", ", ".join(map(str, limits)), "bands in rising order")
        if require_decimal(self.step, field="price step", decimals=PRICE_DECIMALS) <= 0:
            raise BadInput("price step", self.step, "a step above 0, such as 0.01")


@dataclass(frozen=True, kw_only=True)
class PartPrice:
    """A part's price without its core, the core to charge on a line of its own, and why it is so."""

    unit_price: Decimal
    core: Decimal
    landed_cost: Decimal
    used: Basis
    why: str


def price_part(
    cost: Decimal,
    *,
    rule: PriceRule,
    list_price: Decimal | None = None,
    supplier_discount: Decimal = NIL,
    freight_share: Decimal = NIL,
    core: Decimal = NIL,
) -> PartPrice:
    """The price of one part: (cost - supplier's discount + freight) x (1 + markup of its band).

    The band is found by that landed cost. With basis LIST or GREATER a missing list price falls back to the
    markup, and `why` says so. The core is a deposit for the old unit: never discounted, never marked up.
    Refused: negative amounts, a discount above 1. The price is rounded half up to the rule's step, once.
    """
    for field, amount in (("cost", cost), ("freight share", freight_share), ("core", core)):
        _require_not_negative(amount, field=field)
    _require_share(supplier_discount, field="supplier discount")
    bought = Fraction(cost) * (1 - Fraction(supplier_discount))
    landed = quantize(bought + Fraction(freight_share), exponent=PRICE_STEP, mode=HALF_UP)
    band = next(band for band in rule.bands if band.holds(landed))
    marked_up = _to_step(Fraction(landed) * (1 + Fraction(band.markup)), step=rule.step)
    used, price, choice = _choose(marked_up, list_price=list_price, rule=rule)
    reasons = (
        _landed_in_words(cost, discount=supplier_discount, freight=freight_share, landed=landed),
        f"Band {band}: plus {_per_cent(band.markup)} is {_plain(marked_up)}.",
        choice,
        "This is below cost." if price < landed else "",
        f"The core of {_plain(core)} is charged apart, without markup." if core else "",
    )
    why = " ".join(reason for reason in reasons if reason)
    return PartPrice(unit_price=price, core=core, landed_cost=landed, used=used, why=why)


def _choose(marked_up: Decimal, *, list_price: Decimal | None, rule: PriceRule) -> tuple[Basis, Decimal, str]:
    """Which price counts, and the sentence that says so."""
    if rule.basis == Basis.COST:
        return Basis.COST, marked_up, "The rule takes the cost with its markup."
    if list_price is None:
        return Basis.COST, marked_up, "No list price is known, so the cost with its markup counts."
    listed = _to_step(Fraction(_require_not_negative(list_price, field="list price")), step=rule.step)
    if rule.basis == Basis.LIST:
        return Basis.LIST, listed, f"The rule takes the list price, {_plain(listed)}."
    if listed > marked_up:
        return Basis.LIST, listed, f"The list price, {_plain(listed)}, is greater and counts."
    return Basis.COST, marked_up, f"The list price, {_plain(listed)}, is not greater."


def _landed_in_words(cost: Decimal, *, discount: Decimal, freight: Decimal, landed: Decimal) -> str:
    parts = [f"Cost {_plain(cost)}"]
    if discount:
        parts.append(f"less {_per_cent(discount)} supplier discount")
    if freight:
        parts.append(f"plus {_plain(freight)} freight")
    return f"{', '.join(parts)}, is {_plain(landed)} landed." if len(parts) > 1 else f"{parts[0]}."


def shop_supplies(
    labour: Decimal, *, share: Decimal, cap: Decimal | None = None, currency: str, rounding: Rounding
) -> Decimal:
    """Rags, cleaner and the like: a share of the labour amount, at most the cap; rounded once."""
    _require_not_negative(labour, field="labour")
    _require_share(share, field="shop supplies")
    amount = round_money(Fraction(labour) * Fraction(share), currency=currency, rounding=rounding)
    return amount if cap is None else min(amount, _require_not_negative(cap, field="shop supplies cap"))


def billed_hours(minutes: int, *, step: Decimal = Decimal("0.1"), minimum: Decimal = NIL) -> Decimal:
    """Minutes worked as hours to bill: up to the next full step, and at least the minimum once work was done.

    Steps go up, never down, since a step that has been begun is time another boat cannot have (common
    practice, no source). No minutes are no hours.
    """
    if isinstance(minutes, bool) or not isinstance(minutes, int):
        raise TypeError(f"minutes: whole minutes are int, never {type(minutes).__name__}")
    if minutes < 0:
        raise BadInput("minutes", minutes, "0 or more")
    if require_decimal(step, field="labour step") <= 0:
        raise BadInput("labour step", step, "a step above 0, such as 0.1 hours")
    _require_not_negative(minimum, field="minimum hours")
    if minutes == 0:
        return NIL
    steps = quantize(Fraction(minutes, 60) / Fraction(step), exponent=Decimal(1), mode="ceiling")
    return max(steps * step, minimum)


def minimum_charge(amount: Decimal, *, minimum: Decimal) -> Decimal:
    """What is missing up to the minimum charge, for a line of its own; nil when the amount reaches it."""
    missing = _require_not_negative(minimum, field="minimum charge") - require_decimal(amount, field="amount")
    return max(missing, NIL)


def margin_of(price: Decimal, *, cost: Decimal) -> Decimal:
    """(price - cost) / price, to four decimals half up: 0.3333 for 150 over 100. A price of 0 has none."""
    return _share_of(price, cost=cost, whole=price, field="price")


def markup_of(price: Decimal, *, cost: Decimal) -> Decimal:
    """(price - cost) / cost, to four decimals half up: 0.5 for 150 over 100. A cost of 0 has none."""
    return _share_of(price, cost=cost, whole=cost, field="cost")


def price_from_margin(cost: Decimal, *, margin: Decimal) -> Decimal:
    """cost / (1 - margin), to four decimals half up. Refused: a margin of 1 or more, or below 0."""
    _require_not_negative(cost, field="cost")
    if not 0 <= require_decimal(margin, field="margin") < 1:
        raise BadInput("margin", margin, "a share from 0 to below 1, such as 0.4 for 40 %")
    return quantize(Fraction(cost) / (1 - Fraction(margin)), exponent=PRICE_STEP, mode=HALF_UP)


def price_from_markup(cost: Decimal, *, markup: Decimal) -> Decimal:
    """cost x (1 + markup), to four decimals half up. Refused: a markup below 0."""
    _require_not_negative(cost, field="cost")
    _require_not_negative(markup, field="markup")
    return quantize(Fraction(cost) * (1 + Fraction(markup)), exponent=PRICE_STEP, mode=HALF_UP)


def _share_of(price: Decimal, *, cost: Decimal, whole: Decimal, field: str) -> Decimal:
    require_decimal(price, field="price")
    require_decimal(cost, field="cost")
    if whole <= 0:
        raise BadInput(field, whole, "an amount above 0")
    return quantize((Fraction(price) - Fraction(cost)) / Fraction(whole), exponent=SHARE_STEP, mode=HALF_UP)


def _to_step(price: Fraction, *, step: Decimal) -> Decimal:
    return quantize(price / Fraction(step), exponent=Decimal(1), mode=HALF_UP) * step


def _require_not_negative(value: Decimal, *, field: str) -> Decimal:
    if require_decimal(value, field=field) < 0:
        raise BadInput(field, value, "0 or more")
    return value


def _require_share(value: Decimal, *, field: str) -> None:
    if not 0 <= require_decimal(value, field=field) <= 1:
        raise BadInput(field, value, "a share from 0 to 1, such as 0.1 for 10 %")


def _per_cent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"


def _plain(value: Decimal) -> str:
    """Without exponent and without noughts beyond the cents."""
    short = value.quantize(CENT)
    return f"{short if short == value else value.normalize():f}"

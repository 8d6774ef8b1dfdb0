"""Money is Decimal, rounded once in a named place: minor units (ISO 4217), sharing out, reading and showing.

Floats never meet money: each function here raises TypeError when it is given one.
"""

import copy
import decimal
import re
from collections.abc import Sequence
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import cache

from babel.core import Locale, get_global
from babel.numbers import (
    NumberFormatError,
    NumberPattern,
    format_decimal,
    get_currency_precision,
    parse_decimal,
)

from shopapp.calc.errors import BadInput

# Babel's CLDR data counts the coins in use; accounts are kept in the minor units of ISO 4217.
# Source: the ISO 4217 table in datasets/currency-codes (PDDL), data/codes-all.csv, commit 051762c4b9c0.
ISO_4217_DIGITS = {
    **dict.fromkeys(("AFN", "ALL", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SOS", "SYP", "YER"), 2),
    "IQD": 3,
}
# Money columns are 64-bit integers, unit prices in 1/10,000: twelve digits before the point always fit.
LARGEST = Decimal(10) ** 12
PRICE_DECIMALS = 4
QUANTITY_DECIMALS = 3
RATE_DECIMALS = 6
# Far more digits than any amount has, so that only `quantize` ever rounds.
WORKING_DIGITS = 80

MODES = {
    "half_up": decimal.ROUND_HALF_UP,
    "half_even": decimal.ROUND_HALF_EVEN,
    "half_down": decimal.ROUND_HALF_DOWN,
    "up": decimal.ROUND_UP,
    "down": decimal.ROUND_DOWN,
    "ceiling": decimal.ROUND_CEILING,
    "floor": decimal.ROUND_FLOOR,
}
LONGEST_TYPED = 40
SPACES = re.compile("[ \u00a0\u202f]")
COUNT_WORDS = ("no decimals", "at most one decimal", "at most two decimals", "at most three decimals")


class Rounding(StrEnum):
    """What a shop may choose: half a coin goes up (away from nil), or to the even coin."""

    HALF_UP = "half_up"
    HALF_EVEN = "half_even"


def require_decimal(value: Decimal, *, field: str, decimals: int | None = None) -> Decimal:
    """The value itself, once it is known to be a finite Decimal with no more decimals than told.

    TypeError for a float or anything else; BadInput for NaN, infinity, too many decimals or a size that
    no column holds.
    """
    if not isinstance(value, Decimal):
        raise TypeError(f"{field}: money and quantities are Decimal, never {type(value).__name__}")
    if not value.is_finite() or abs(value) >= LARGEST:
        raise BadInput(field, value, "a number of at most twelve digits before the point")
    if decimals is not None and decimals_of(value) > decimals:
        raise BadInput(field, value, f"a number with {decimals_in_words(decimals)}")
    return value


def decimals_of(value: Decimal) -> int:
    """How many decimals the value needs, trailing noughts not counted: 1.50 needs one."""
    _, digits, exponent = value.as_tuple()
    if not isinstance(exponent, int):
        raise BadInput("number", value, "a finite number")
    needed = "".join(map(str, digits)).rstrip("0")
    return max(0, -exponent - (len(digits) - len(needed))) if needed else 0


def decimals_in_words(decimals: int) -> str:
    """For example: at most two decimals."""
    return COUNT_WORDS[decimals] if decimals < len(COUNT_WORDS) else f"at most {decimals} decimals"


def quantize(value: Decimal | Fraction, *, exponent: Decimal, mode: str) -> Decimal:
    """Rounds to the exponent (0.01 for cents) by one of the seven modes of MODES; the only rounding of money.

    Source: General Decimal Arithmetic (IBM). A fraction that does not end in decimals is first cut with
    ROUND_05UP, the mode made for rounding twice, so that the second rounding is the only one that counts.
    """
    if mode not in MODES:
        raise BadInput("rounding", mode, "one of " + ", ".join(MODES))
    with decimal.localcontext(prec=WORKING_DIGITS, rounding=decimal.ROUND_05UP):
        cut = Decimal(value.numerator) / value.denominator if isinstance(value, Fraction) else value
        return _unsigned_nil(require_decimal(cut, field="amount").quantize(exponent, rounding=MODES[mode]))


def _unsigned_nil(value: Decimal) -> Decimal:
    """Nil has no sign on paper: -0.00 becomes 0.00."""
    return value.copy_abs() if value.is_zero() else value


@cache
def minor_digits(currency: str) -> int:
    """Decimals of the currency by ISO 4217: 2 for CAD, 0 for JPY, 3 for KWD. Unknown codes are refused."""
    if currency not in get_global("all_currencies"):
        raise BadInput("currency", currency, "a currency code of three capital letters, such as CAD or EUR")
    return ISO_4217_DIGITS.get(currency, get_currency_precision(currency))


@cache
def smallest_coin(currency: str) -> Decimal:
    """One minor unit as an amount: 0.01 for CAD, 1 for JPY."""
    return Decimal(1).scaleb(-minor_digits(currency))


def round_money(amount: Decimal | Fraction, *, currency: str, rounding: Rounding) -> Decimal:
    """The amount in whole minor units of the currency. An exact Fraction may be given; a float may not."""
    return quantize(amount, exponent=smallest_coin(currency), mode=Rounding(rounding).value)


def require_coins(amount: Decimal, *, currency: str, field: str) -> Decimal:
    """The amount written with the decimals of its currency; refused unless it is whole minor units."""
    return from_minor(to_minor(amount, currency=currency, field=field), currency=currency)


def to_minor(amount: Decimal, *, currency: str, field: str = "amount") -> int:
    """Whole minor units (12.34 CAD is 1234). An amount with a part of a coin is refused, never rounded."""
    return _to_scaled(amount, decimals=minor_digits(currency), field=field)


def from_minor(minor: int, *, currency: str) -> Decimal:
    """The amount for a count of minor units: 1234 is 12.34 in CAD."""
    return _from_scaled(minor, decimals=minor_digits(currency))


def to_e4(value: Decimal, *, field: str) -> int:
    """A unit price or cost in 1/10,000, as stored. More than four decimals are refused."""
    return _to_scaled(value, decimals=PRICE_DECIMALS, field=field)


def from_e4(value: int) -> Decimal:
    """A unit price or cost from its stored 1/10,000."""
    return _from_scaled(value, decimals=PRICE_DECIMALS)


def to_milli(value: Decimal, *, field: str) -> int:
    """A quantity in 1/1,000, as stored. More than three decimals are refused."""
    return _to_scaled(value, decimals=QUANTITY_DECIMALS, field=field)


def from_milli(value: int) -> Decimal:
    """A quantity from its stored 1/1,000."""
    return _from_scaled(value, decimals=QUANTITY_DECIMALS)


def to_e6(value: Decimal, *, field: str) -> int:
    """A tax rate as a share in 1/1,000,000, as stored. More than six decimals are refused."""
    return _to_scaled(value, decimals=RATE_DECIMALS, field=field)


def _to_scaled(value: Decimal, *, decimals: int, field: str) -> int:
    return int(require_decimal(value, field=field, decimals=decimals).scaleb(decimals))


def _from_scaled(value: int, *, decimals: int) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(f"stored money is a whole number, never {type(value).__name__}")
    return require_decimal(Decimal(value), field="stored number").scaleb(-decimals)


def allocate(total: int, *, weights: Sequence[int | Decimal]) -> list[int]:
    """Shares whole minor units out in proportion to the weights; the parts always sum to the total.

    Largest remainder (Hamilton): each gets its whole part, the coins left over go to the largest
    remainders, ties to the first. A negative total is the mirror of the positive one. When all weights are
    nil the parts are equal. An empty list and negative weights are refused.
    """
    exact = [_weight(weight) for weight in weights]
    if not exact:
        raise BadInput("weights", "", "at least one weight")
    whole = sum(exact)
    if whole == 0:
        exact, whole = [Fraction(1)] * len(exact), Fraction(len(exact))
    return settle(total, exact=[total * weight / whole for weight in exact])


def _weight(weight: int | Decimal) -> Fraction:
    if isinstance(weight, bool) or not isinstance(weight, int | Decimal):
        raise TypeError(f"weights: a weight is int or Decimal, never {type(weight).__name__}")
    if isinstance(weight, Decimal) and not weight.is_finite():
        raise BadInput("weights", weight, "finite numbers")
    if weight < 0:
        raise BadInput("weights", weight, "weights of 0 or more")
    return Fraction(weight)


def settle(total: int, *, exact: Sequence[Fraction]) -> list[int]:
    """Whole coins near the exact parts that sum to the total, which must be the rounded sum of the parts.

    Each part is cut towards nil; the coins left over go one by one to the parts that lost most, the first
    among equals.
    """
    if isinstance(total, bool) or not isinstance(total, int):
        raise TypeError(f"total: minor units are whole numbers, never {type(total).__name__}")
    parts = [int(part) for part in exact]
    left = total - sum(parts)
    step = 1 if left > 0 else -1
    lost = [(part - int(part)) * step for part in exact]
    by_loss = sorted(range(len(parts)), key=lambda place: -lost[place])
    for place in by_loss[: abs(left)]:
        parts[place] += step
    return parts


def parse_number(
    text: str,
    *,
    locale: str,
    field: str,
    decimals: int,
    least: Decimal | None = None,
    most: Decimal | None = None,
) -> Decimal:
    """Reads what a person typed in the habits of the locale; plain, no-break and narrow spaces are alike.

    `least` and `most` are themselves accepted. Blanks, letters, exponents, NaN, infinity, stray group signs,
    too many decimals and numbers out of range are refused by BadInput that says what would do.
    """
    accepted = _accepted(locale, decimals=decimals, least=least, most=most)
    number = _read(text, locale=locale)
    if number is None or abs(number) >= LARGEST or decimals_of(number) > decimals:
        raise BadInput(field, text, accepted)
    if (least is not None and number < least) or (most is not None and number > most):
        raise BadInput(field, text, accepted)
    return number


def _read(text: str, *, locale: str) -> Decimal | None:
    """The number, or None when the text is not one in this locale."""
    group, point = _separators(locale)
    # A minus sign from a word processor or from CLDR (U+2212) is the same wish as a hyphen.
    plain = SPACES.sub(" ", text).strip().replace("\u2212", "-")
    if len(plain) > LONGEST_TYPED or not set(plain) <= {*"0123456789+- ", *group, *point}:
        return None
    if SPACES.fullmatch(group):
        plain = plain.replace(" ", group)
    try:
        return _unsigned_nil(parse_decimal(plain, locale=locale, strict=True))
    except NumberFormatError:
        return None


@cache
def _separators(locale: str) -> tuple[str, str]:
    symbols = Locale.parse(locale).number_symbols["latn"]
    return symbols["group"], symbols["decimal"]


def _accepted(locale: str, *, decimals: int, least: Decimal | None, most: Decimal | None) -> str:
    sample = format_number(Decimal("12.5"), locale=locale, decimals=min(decimals, 2))
    size = _range(least, most=most, locale=locale)
    return f"a number{size} with {decimals_in_words(decimals)}, written like {sample}"


def _range(least: Decimal | None, *, most: Decimal | None, locale: str) -> str:
    low = "" if least is None else format_number(least, locale=locale)
    high = "" if most is None else format_number(most, locale=locale)
    if low and high:
        return f" from {low} to {high}"
    if low:
        return f" of {low} or more"
    return f" of {high} or less" if high else ""


def format_money(amount: Decimal, *, currency: str, locale: str) -> str:
    """The amount with its currency sign in the habits of the locale; spaces are no-break (U+00A0).

    Showing never rounds money: a unit price of 0.0125 CAD keeps its four decimals.
    """
    exact = require_decimal(amount, field="amount")
    pattern = _money_pattern(locale, max(minor_digits(currency), decimals_of(exact)))
    return _tidy(pattern.apply(exact, locale, currency=currency, currency_digits=False))


def format_whole(amount: float, *, currency: str, locale: str) -> str:
    """An estimate in whole currency units, half away from nil: never for an amount on a document."""
    whole = Decimal(amount).quantize(Decimal(1), rounding=decimal.ROUND_HALF_UP)
    pattern = _money_pattern(locale, 0)
    return _tidy(pattern.apply(_unsigned_nil(whole), locale, currency=currency, currency_digits=False))


def format_number(value: Decimal, *, locale: str, decimals: int | None = None) -> str:
    """The number in the habits of the locale: as many decimals as it has, or exactly `decimals`, half up."""
    number = require_decimal(value, field="number")
    if decimals is None:
        return _tidy(format_decimal(number, locale=locale, decimal_quantization=False))
    rounded = quantize(number, exponent=Decimal(1).scaleb(-decimals), mode=Rounding.HALF_UP.value)
    return _tidy(_number_pattern(locale, decimals).apply(rounded, locale))


@cache
def _money_pattern(locale: str, digits: int) -> NumberPattern:
    return _with_digits(Locale.parse(locale).currency_formats["standard"], digits)


@cache
def _number_pattern(locale: str, digits: int) -> NumberPattern:
    return _with_digits(Locale.parse(locale).decimal_formats[None], digits)


def _with_digits(pattern: NumberPattern, digits: int) -> NumberPattern:
    # Babel shares its patterns between all callers, so the copy is changed and not the original.
    own = copy.copy(pattern)
    own.frac_prec = (digits, digits)
    return own


def _tidy(text: str) -> str:
    # The narrow no-break space (U+202F) is missing from several fonts, also on paper.
    return text.replace("\u202f", "\u00a0")

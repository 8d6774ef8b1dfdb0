"""A second opinion on what documents come to, in exact fractions: no code and no constant of the product.

Written from the rules of the test shop alone: prices without tax; goods, fluids, fees and work bought in
carry 5 % and 7 %, labour 5 %; an exempt customer none. A line is rounded once; tax once a rate, or on
each line.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

FEDERAL, PROVINCIAL = ("Federal", Fraction(5, 100)), ("Provincial", Fraction(7, 100))


@dataclass(frozen=True)
class Habits:
    """How the shop rounds, and whether this customer pays tax."""

    is_half_to_even: bool = False
    is_taxed_by_line: bool = False
    is_exempt: bool = False


@dataclass(frozen=True)
class Sold:
    """A line as its columns hold it."""

    kind: str
    quantity_milli: int
    unit_price_e4: int
    discount_e4: int


@dataclass(frozen=True)
class Sums:
    """A document in coins: each line, then without tax, each tax (base and tax), and the whole."""

    lines: tuple[int, ...]
    without_tax: int
    taxes: dict[tuple[str, Fraction], tuple[int, int]]
    total: int


def whole(value: Fraction, *, is_half_to_even: bool) -> int:
    """The nearest whole coin of an amount that is not negative."""
    floor, over = divmod(value.numerator, value.denominator)
    twice = 2 * over - value.denominator
    if twice == 0:
        return floor + (floor % 2 if is_half_to_even else 1)
    return floor + (twice > 0)


def rates(kind: str, habits: Habits) -> list[tuple[str, Fraction]]:
    if habits.is_exempt:
        return []
    return [FEDERAL] if kind == "labour" else [FEDERAL, PROVINCIAL]


def amount(line: Sold, habits: Habits) -> int:
    """Quantity × price, less the discount, in coins of 1/100."""
    exact = (
        Fraction(line.quantity_milli, 1_000)
        * Fraction(line.unit_price_e4, 10_000)
        * (1 - Fraction(line.discount_e4, 10_000))
    )
    return whole(exact * 100, is_half_to_even=habits.is_half_to_even)


def sums(lines: Iterable[Sold], habits: Habits) -> Sums:
    """The document over these lines."""
    sold = [(line, amount(line, habits)) for line in lines]
    without_tax = sum(coins for _, coins in sold)
    names = {tax for line, _ in sold for tax in rates(line.kind, habits)}
    taxes = {}
    for tax in names:
        bases = [coins for line, coins in sold if tax in rates(line.kind, habits)]
        parts = bases if habits.is_taxed_by_line else [sum(bases)]
        taken = sum(whole(part * tax[1], is_half_to_even=habits.is_half_to_even) for part in parts)
        taxes[tax] = (sum(bases), taken)
    total = without_tax + sum(taken for _, taken in taxes.values())
    return Sums(lines=tuple(coins for _, coins in sold), without_tax=without_tax, taxes=taxes, total=total)

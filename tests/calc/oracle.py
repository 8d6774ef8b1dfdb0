"""A second opinion in exact fractions: no code and no constant of the product, written from the rules alone.

Amounts are whole coins (int) or Fraction of the main unit. A tax is a tuple (name, rate, compounds), a
treatment (category, taxes); an item is (amount in coins, treatment).
"""

from collections import defaultdict
from fractions import Fraction
from math import floor

type Tax = tuple[str, Fraction, bool]
type Treatment = tuple[str, tuple[Tax, ...]]
type Item = tuple[int, Treatment]
type Key = tuple[str, str, Fraction]
type Rows = dict[Key, tuple[int, int]]

NOTHING: Tax = ("", Fraction(0), False)


def whole(value: Fraction, *, even: bool) -> int:
    """The nearest whole number; a half goes away from nil, or to the even neighbour."""
    if value < 0:
        return -whole(-value, even=even)
    below = floor(value)
    over = value - below
    if over == Fraction(1, 2):
        return below + (below % 2 if even else 1)
    return below + (1 if over > Fraction(1, 2) else 0)


def hamilton(total: int, weights: list[Fraction]) -> list[int]:
    """Seats by largest remainder, handed out one at a time; the first wins a tie."""
    if sum(weights) == 0:
        weights = [Fraction(1) for _ in weights]
    size, sign = abs(total), (-1 if total < 0 else 1)
    quotas = [Fraction(size) * weight / sum(weights) for weight in weights]
    seats = [floor(quota) for quota in quotas]
    while sum(seats) < size:
        gaps = [quota - seat for quota, seat in zip(quotas, seats, strict=True)]
        seats[gaps.index(max(gaps))] += 1
    return [sign * seat for seat in seats]


def line_coins(line: dict[str, Fraction], *, coins: int, even: bool) -> int:
    """Quantity x price per base quantity, less the discount, in coins."""
    price = line["price"] / line["base"]
    return whole(line["quantity"] * price * (1 - line["discount"]) * coins, even=even)


def rows_on_top(items: list[Item], *, even: bool) -> Rows:
    """Breakdown of prices without tax, row by row from the bases upward."""
    bases: dict[Key, dict[tuple[Tax, ...], int]] = defaultdict(lambda: defaultdict(int))
    for amount, (category, taxes) in items:
        for place, (name, rate, compounds) in enumerate(taxes or (NOTHING,)):
            before = taxes[:place] if compounds else ()
            bases[category, name, rate][before] += amount
    rows: Rows = {}
    for key, parts in bases.items():
        taxable = sum(amount + sum(chain(amount, before, even=even)) for before, amount in parts.items())
        rows[key] = taxable, whole(taxable * key[2], even=even)
    return rows


def chain(amount: int, taxes: tuple[Tax, ...], *, even: bool) -> list[int]:
    """The taxes on one amount, each on the amount alone or on the amount and the taxes before it."""
    found: list[int] = []
    for _, rate, compounds in taxes:
        found.append(whole((amount + (sum(found) if compounds else 0)) * rate, even=even))
    return found


def tax_within(items: list[Item], *, even: bool) -> dict[Key, int]:
    """The tax in prices with tax: the exact tax of every item, summed by row and then rounded."""
    exact: dict[Key, Fraction] = defaultdict(Fraction)
    for amount, (category, taxes) in items:
        with_taxes, steps = Fraction(1), []
        for name, rate, compounds in taxes or (NOTHING,):
            step = rate * (with_taxes if compounds else 1)
            with_taxes += step
            steps.append(((category, name, rate), step))
        for key, step in steps:
            exact[key] += amount / with_taxes * step
    return {key: whole(value, even=even) for key, value in exact.items()}


def by_line(items: list[Item], *, even: bool) -> Rows:
    """Prices without tax and tax rounded on every line: each item by itself, then added up."""
    rows: Rows = {}
    for item in items:
        for key, (taxable, tax) in rows_on_top([item], even=even).items():
            before = rows.get(key, (0, 0))
            rows[key] = before[0] + taxable, before[1] + tax
    return rows

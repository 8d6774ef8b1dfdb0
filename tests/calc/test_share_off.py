"""A discount on the whole, spread over the tax treatments: against exact fractions, to the smallest coin."""

from collections import defaultdict
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.money import Rounding
from shopapp.calc.tax import TaxLevel
from shopapp.calc.totals import Line, Rules, document_totals, share_off
from tests.calc import oracle
from tests.calc.test_totals_properties import DIGITS, TREATMENTS


def scaled(least: int, most: int, *, decimals: int) -> st.SearchStrategy[Decimal]:
    """Numbers with so many decimals, drawn as whole ones."""
    return st.integers(least, most).map(lambda whole: Decimal(whole).scaleb(-decimals))


priced = st.builds(
    Line,
    quantity=scaled(1, 10**6, decimals=3),
    unit_price=scaled(0, 10**8, decimals=4),
    tax=st.sampled_from(TREATMENTS),
    discount=scaled(0, 10**4, decimals=4),
)
ways = st.builds(
    Rules,
    currency=st.sampled_from(list(DIGITS)),
    rounding=st.sampled_from(Rounding),
    tax_level=st.sampled_from(TaxLevel),
    prices_include_tax=st.booleans(),
)
shares = st.one_of(scaled(0, 10**4, decimals=4), st.sampled_from([Decimal(0), Decimal(1)]))


def sums_by_tax(lines: list[Line], rules: Rules) -> dict[object, int]:
    """What the lines of each treatment come to, in coins; worked out by the second opinion."""
    coins, even = 10 ** DIGITS[rules.currency], rules.rounding == Rounding.HALF_EVEN
    sums: dict[object, int] = defaultdict(int)
    for line in lines:
        exact = {
            "quantity": Fraction(line.quantity),
            "price": Fraction(line.unit_price),
            "base": Fraction(1),
            "discount": Fraction(line.discount),
        }
        sums[line.tax] += oracle.line_coins(exact, coins=coins, even=even)
    return sums


@given(lines=st.lists(priced, min_size=1, max_size=8), rules=ways, share=shares)
def test_share_off_is_what_fractions_say(lines: list[Line], rules: Rules, share: Decimal) -> None:
    sums = sums_by_tax(lines, rules)
    even, coins = rules.rounding == Rounding.HALF_EVEN, 10 ** DIGITS[rules.currency]
    whole = oracle.whole(sum(sums.values()) * Fraction(share), even=even)
    parts = oracle.hamilton(whole, [Fraction(amount) for amount in sums.values()]) if share else []

    off = share_off(lines, share=share, reason="Spring offer", rules=rules)

    wanted = {tax: Fraction(part, coins) for tax, part in zip(sums, parts, strict=False) if part}
    assert {one.tax: Fraction(one.amount) for one in off} == wanted


@given(lines=st.lists(priced, min_size=1, max_size=8), rules=ways, share=shares)
def test_share_off_takes_no_more_than_there_is(lines: list[Line], rules: Rules, share: Decimal) -> None:
    coins, sums = 10 ** DIGITS[rules.currency], sums_by_tax(lines, rules)

    off = share_off(lines, share=share, reason="Spring offer", rules=rules)

    assert all(0 < one.amount <= Decimal(sums[one.tax]) / coins for one in off)
    totals = document_totals(lines, rules=rules, allowances=off)
    entered = totals.with_tax if rules.prices_include_tax else totals.without_tax
    assert entered == totals.sum_of_lines - sum((one.amount for one in off), Decimal(0))
    assert entered >= 0


def test_share_off_by_hand() -> None:
    goods, labour = TREATMENTS[1], TREATMENTS[0]
    rules = Rules(currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN)
    lines = [
        Line(quantity=Decimal(1), unit_price=Decimal("100.05"), tax=labour),
        Line(quantity=Decimal(1), unit_price=Decimal("50.00"), tax=goods),
    ]

    off = share_off(lines, share=Decimal("0.1"), reason="Spring offer", rules=rules)

    # 10 % of 150.05 is 15.005, so 15.01; by 100.05 to 50.00: 10.0083… and 5.0016…, the coin goes to the first
    assert [(one.amount, one.tax.code) for one in off] == [
        (Decimal("10.01"), "federal"),
        (Decimal("5.00"), "two"),
    ]


@pytest.mark.parametrize("lines", [[], [Line(quantity=Decimal(1), unit_price=Decimal(5), tax=TREATMENTS[0])]])
def test_no_share_takes_nothing(lines: list[Line]) -> None:
    rules = Rules(currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN)

    assert share_off(lines, share=Decimal(0 if lines else "0.1"), reason="Spring offer", rules=rules) == ()

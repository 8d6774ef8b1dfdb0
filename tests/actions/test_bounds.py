"""Amounts and counts within bounds: the bounds themselves are in, and a refusal names them."""

from decimal import Decimal

import pytest

from shopapp.actions.bounds import amount_minor, require_within
from shopapp.calc.errors import BadInput


@pytest.mark.parametrize(("amount", "minor"), [("0", 0), ("12.34", 1_234)])
def test_amount_is_told_in_coins(amount: str, minor: int) -> None:
    assert amount_minor("tow", Decimal(amount), currency="CAD") == minor


@pytest.mark.parametrize("amount", ["-0.01", "0.001"])
def test_amount_below_nil_or_in_parts_of_a_coin_is_refused(amount: str) -> None:
    with pytest.raises(BadInput, match="tow"):
        amount_minor("tow", Decimal(amount), currency="CAD")


@pytest.mark.parametrize("value", [1, 12])
def test_bounds_are_in(value: int) -> None:
    require_within("month", value, least=1, most=12)


@pytest.mark.parametrize("value", [0, 13])
def test_beyond_the_bounds_is_refused_with_them(value: int) -> None:
    with pytest.raises(BadInput, match=r"month.*a whole number from 1 to 12"):
        require_within("month", value, least=1, most=12)

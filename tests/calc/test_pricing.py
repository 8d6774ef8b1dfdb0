"""Prices worked out by hand; the rules are common practice, margin and markup are defined by arithmetic."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.money import Rounding
from shopapp.calc.pricing import (
    Band,
    Basis,
    PriceRule,
    billed_hours,
    margin_of,
    markup_of,
    minimum_charge,
    price_from_margin,
    price_from_markup,
    price_part,
    shop_supplies,
)

BANDS = (
    Band(up_to=Decimal(10), markup=Decimal(1)),
    Band(up_to=Decimal(100), markup=Decimal("0.6")),
    Band(up_to=None, markup=Decimal("0.35")),
)
BY_COST = PriceRule(basis=Basis.COST, bands=BANDS)
BY_LIST = PriceRule(basis=Basis.LIST, bands=BANDS)
GREATER = PriceRule(basis=Basis.GREATER, bands=BANDS)
CAD = {"currency": "CAD", "rounding": Rounding.HALF_UP}


@pytest.mark.parametrize(
    ("cost", "price"),
    [
        ("0", "0.00"),
        ("9.99", "19.98"),
        ("10", "20.00"),
        ("10.0001", "16.00"),
        ("100", "160.00"),
        ("100.01", "135.01"),
    ],
)
def test_band_includes_its_upper_end(cost: str, price: str) -> None:
    assert str(price_part(Decimal(cost), rule=BY_COST).unit_price) == price


def test_price_is_made_from_landed_cost() -> None:
    """By hand: 42 less 10 % is 37.80, plus 1.50 is 39.30; plus 60 % is 62.88."""
    priced = price_part(
        Decimal(42),
        rule=BY_COST,
        supplier_discount=Decimal("0.1"),
        freight_share=Decimal("1.5"),
        core=Decimal(40),
    )

    assert (priced.unit_price, priced.landed_cost, priced.core) == (
        Decimal("62.88"),
        Decimal("39.30"),
        Decimal(40),
    )
    assert priced.why == (
        "Cost 42.00, less 10 % supplier discount, plus 1.50 freight, is 39.30 landed. "
        "Band up to 100.00: plus 60 % is 62.88. The rule takes the cost with its markup. "
        "The core of 40.00 is charged apart, without markup."
    )


@pytest.mark.parametrize(
    ("rule", "list_price", "price", "used", "choice"),
    [
        (BY_LIST, "59.95", "59.95", Basis.LIST, "The rule takes the list price, 59.95."),
        (BY_LIST, None, "64.00", Basis.COST, "No list price is known, so the cost with its markup counts."),
        (GREATER, "59.95", "64.00", Basis.COST, "The list price, 59.95, is not greater."),
        (GREATER, "69.95", "69.95", Basis.LIST, "The list price, 69.95, is greater and counts."),
        (GREATER, None, "64.00", Basis.COST, "No list price is known, so the cost with its markup counts."),
        (BY_LIST, "39", "39.00", Basis.LIST, "The rule takes the list price, 39.00. This is below cost."),
    ],
)
def test_list_price_counts_as_the_rule_says(
    rule: PriceRule, list_price: str | None, price: str, used: Basis, choice: str
) -> None:
    priced = price_part(
        Decimal(40), rule=rule, list_price=None if list_price is None else Decimal(list_price)
    )

    assert (str(priced.unit_price), priced.used) == (price, used)
    assert priced.why == f"Cost 40.00. Band up to 100.00: plus 60 % is 64.00. {choice}"


@pytest.mark.parametrize(("step", "price"), [("0.0001", "5.5555"), ("0.05", "5.55"), ("1", "6")])
def test_price_is_rounded_to_its_step(step: str, price: str) -> None:
    rule = PriceRule(basis=Basis.COST, bands=(Band(up_to=None, markup=Decimal(0)),), step=Decimal(step))

    assert price_part(Decimal("5.5555"), rule=rule).unit_price == Decimal(price)


@pytest.mark.parametrize(
    "bands",
    [
        (),
        (Band(up_to=Decimal(10), markup=Decimal(1)),),
        (Band(up_to=None, markup=Decimal(1)), Band(up_to=None, markup=Decimal(1))),
        (BANDS[1], BANDS[0], BANDS[2]),
        (BANDS[0], BANDS[0], BANDS[2]),
    ],
)
def test_schedule_out_of_order_is_refused(bands: tuple[Band, ...]) -> None:
    with pytest.raises(BadInput, match="markup schedule"):
        PriceRule(basis=Basis.COST, bands=bands)


@pytest.mark.parametrize(("up_to", "markup"), [("0", "1"), ("-5", "1"), ("5", "-0.1"), ("NaN", "1")])
def test_band_refuses_figures_below_nil(up_to: str, markup: str) -> None:
    with pytest.raises(BadInput):
        Band(up_to=Decimal(up_to), markup=Decimal(markup))


@pytest.mark.parametrize("step", ["0", "-0.01", "0.00001"])
def test_schedule_refuses_a_step_it_cannot_store(step: str) -> None:
    with pytest.raises(BadInput, match="price step"):
        PriceRule(basis=Basis.COST, bands=BANDS, step=Decimal(step))


@pytest.mark.parametrize(
    "changed",
    [
        {"cost": Decimal(-1)},
        {"cost": Decimal("NaN")},
        {"list_price": Decimal(-1)},
        {"supplier_discount": Decimal("1.1")},
        {"supplier_discount": Decimal("-0.1")},
        {"freight_share": Decimal(-1)},
        {"core": Decimal(-1)},
    ],
)
def test_part_price_refuses_figures_out_of_range(changed: dict[str, Decimal]) -> None:
    with pytest.raises(BadInput):
        price_part(**({"cost": Decimal(5), "rule": GREATER} | changed))


@pytest.mark.parametrize("field", ["cost", "list_price", "supplier_discount", "freight_share", "core"])
def test_part_price_never_meets_a_float(field: str) -> None:
    with pytest.raises(TypeError):
        price_part(**({"cost": Decimal(5), "rule": GREATER} | {field: 0.5}))


@given(st.decimals(0, 10**6, places=4), st.decimals(0, 10**6, places=4))
def test_greater_rule_is_never_below_either(cost: Decimal, list_price: Decimal) -> None:
    prices = {
        rule.basis: price_part(cost, rule=rule, list_price=list_price).unit_price
        for rule in (BY_COST, BY_LIST, GREATER)
    }

    assert prices[Basis.GREATER] == max(prices[Basis.COST], prices[Basis.LIST])


@pytest.mark.parametrize(
    ("labour", "cap", "amount"),
    [("250.50", None, "18.79"), ("1000", "45", "45"), ("600", "45", "45.00"), ("0", "45", "0.00")],
)
def test_shop_supplies_stop_at_their_cap(labour: str, cap: str | None, amount: str) -> None:
    """7.5 % by hand: of 250.50 it is 18.7875."""
    limit = None if cap is None else Decimal(cap)

    assert shop_supplies(Decimal(labour), share=Decimal("0.075"), cap=limit, **CAD) == Decimal(amount)


@pytest.mark.parametrize(
    ("labour", "share", "cap"), [("-1", "0.1", "5"), ("1", "1.1", "5"), ("1", "0.1", "-5")]
)
def test_shop_supplies_refuse_figures_out_of_range(labour: str, share: str, cap: str) -> None:
    with pytest.raises(BadInput):
        shop_supplies(Decimal(labour), share=Decimal(share), cap=Decimal(cap), **CAD)


@pytest.mark.parametrize(
    ("minutes", "step", "minimum", "hours"),
    [
        (0, "0.1", "0.5", "0"),
        (1, "0.1", "0", "0.1"),
        (6, "0.1", "0", "0.1"),
        (7, "0.1", "0", "0.2"),
        (60, "0.1", "0", "1.0"),
        (61, "0.25", "0", "1.25"),
        (7, "0.1", "0.5", "0.5"),
        (31, "0.1", "0.5", "0.6"),
    ],
)
def test_hours_go_up_to_next_step(minutes: int, step: str, minimum: str, hours: str) -> None:
    assert billed_hours(minutes, step=Decimal(step), minimum=Decimal(minimum)) == Decimal(hours)


@given(st.integers(1, 10**5), st.sampled_from(["0.1", "0.25", "0.5", "1", "0.3"]))
def test_billed_hours_exceed_less_than_one_step(minutes: int, step: str) -> None:
    hours = billed_hours(minutes, step=Decimal(step))

    assert 0 <= Fraction(hours) - Fraction(minutes, 60) < Fraction(step)
    assert hours % Decimal(step) == 0


@pytest.mark.parametrize(("minutes", "step"), [(-1, "0.1"), (5, "0"), (5, "-0.1")])
def test_billed_hours_refuse_figures_below_nil(minutes: int, step: str) -> None:
    with pytest.raises(BadInput):
        billed_hours(minutes, step=Decimal(step))


def test_billed_hours_take_whole_minutes_only() -> None:
    with pytest.raises(TypeError):
        billed_hours(30.5)


@pytest.mark.parametrize(
    ("amount", "missing"), [("40", "55"), ("95", "0"), ("120", "0"), ("0", "95"), ("94.99", "0.01")]
)
def test_minimum_charge_is_what_is_missing(amount: str, missing: str) -> None:
    assert minimum_charge(Decimal(amount), minimum=Decimal(95)) == Decimal(missing)


def test_margin_and_markup_of_a_price() -> None:
    price, cost = Decimal(150), Decimal(100)

    assert (margin_of(price, cost=cost), markup_of(price, cost=cost)) == (Decimal("0.3333"), Decimal("0.5"))
    assert price_from_markup(cost, markup=Decimal("0.5")) == price
    assert price_from_margin(cost, margin=Decimal("0.3333")) == Decimal("149.9925")


@given(st.decimals(1, 10**5, places=2), st.decimals(0, Decimal("0.95"), places=4))
def test_price_has_the_margin_asked_for(cost: Decimal, margin: Decimal) -> None:
    price = price_from_margin(cost, margin=margin)

    assert abs(margin_of(price, cost=cost) - margin) <= Decimal("0.0001")


@pytest.mark.parametrize(
    "use",
    [
        lambda: margin_of(Decimal(0), cost=Decimal(1)),
        lambda: markup_of(Decimal(1), cost=Decimal(0)),
        lambda: price_from_margin(Decimal(1), margin=Decimal(1)),
        lambda: price_from_margin(Decimal(1), margin=Decimal("-0.1")),
        lambda: price_from_margin(Decimal(-1), margin=Decimal("0.1")),
        lambda: price_from_markup(Decimal(1), markup=Decimal("-0.1")),
        lambda: minimum_charge(Decimal(1), minimum=Decimal(-1)),
    ],
)
def test_margin_and_markup_refuse_the_impossible(use: Callable[[], Decimal]) -> None:
    with pytest.raises(BadInput):
        use()

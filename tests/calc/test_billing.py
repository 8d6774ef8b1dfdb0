"""Plan and actual become proposed lines: each case was worked out by hand beside it."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shopapp.calc.billing import (
    Agreed,
    Clocked,
    Item,
    JobBooks,
    Origin,
    agreed_offs,
    amount_of,
    billed_lines,
    grouped_time,
    hours_of,
    most_billable,
    sum_of,
    taken_off,
)
from shopapp.calc.errors import BadInput
from shopapp.calc.money import Rounding
from shopapp.calc.tax import TaxLevel
from shopapp.calc.totals import Rules

RULES = Rules(currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN)
GOODS, LABOUR = 1, 2


def item(amount: str, *, quantity: str = "1", tax: int = GOODS, key: int = 1, **changes: Any) -> Item:
    facts: dict[str, Any] = {
        "sources": (("part_used", key),),
        "kind": "labour" if tax == LABOUR else "part",
        "description": "Seal",
        "quantity": Decimal(quantity),
        "unit": "h" if tax == LABOUR else "each",
        "unit_price": Decimal(amount),
        "tax": tax,
    }
    return Item(**facts | changes)


def clocked(minutes: int, *, price: str = "120", key: int = 1, words: str = "Repair") -> Clocked:
    return Clocked(
        source=("time_entry", key),
        minutes=minutes,
        item=item(price, tax=LABOUR, sources=(), description=words),
    )


def figures(job: JobBooks) -> list[tuple[str, Decimal, int]]:
    return [(one.origin.value, one.amount, one.item.tax) for one in billed_lines(job, rules=RULES)]


def test_fixed_price_bills_the_plan_whatever_was_used() -> None:
    job = JobBooks(
        price=Agreed.FIXED,
        is_plan_owed=True,
        planned=[item("18.40", quantity="2"), item("120", quantity="2.5", tax=LABOUR)],
        logged=[item("900")],
        agreed=Decimal("336.80"),
    )

    # by hand: 2 × 18.40 and 2.5 × 120.00
    assert figures(job) == [("plan", Decimal("36.80"), GOODS), ("plan", Decimal("300.00"), LABOUR)]


def test_fixed_price_takes_what_the_owner_bills_on_top() -> None:
    job = JobBooks(
        price=Agreed.FIXED, is_plan_owed=True, planned=[item("50")], overridden=[item("7.50", key=9)]
    )

    assert figures(job) == [("plan", Decimal("50.00"), GOODS), ("actual", Decimal("7.50"), GOODS)]


def test_time_and_material_bills_the_logged_rows() -> None:
    job = JobBooks(
        price=Agreed.TIME, is_plan_owed=True, planned=[item("500")], logged=[item("10"), item("20", key=2)]
    )

    assert figures(job) == [("actual", Decimal("10.00"), GOODS), ("actual", Decimal("20.00"), GOODS)]


def test_ceiling_that_is_not_reached_changes_nothing() -> None:
    job = JobBooks(price=Agreed.CEILING, is_plan_owed=True, logged=[item("99.99")], agreed=Decimal("99.99"))

    assert figures(job) == [("actual", Decimal("99.99"), GOODS)]


def test_ceiling_takes_off_what_is_above_it_for_each_tax_code() -> None:
    job = JobBooks(
        price=Agreed.CEILING,
        is_plan_owed=True,
        logged=[item("100"), item("200", tax=LABOUR, key=2)],
        agreed=Decimal(250),
        above_words="Above the agreed maximum: not charged",
    )

    lines = billed_lines(job, rules=RULES)

    # by hand: 300.00 logged, 50.00 above; shared 1 : 2 in cents is 1,667 and 3,333
    assert figures(job)[2:] == [("ceiling", Decimal("-16.67"), GOODS), ("ceiling", Decimal("-33.33"), LABOUR)]
    assert sum_of(lines, rules=RULES) == 250
    assert (lines[2].item.quantity, lines[2].item.unit_price) == (-1, Decimal("16.67"))
    assert lines[2].item.description == "Above the agreed maximum: not charged"
    assert lines[2].item.sources == ()


def test_ceiling_counts_what_was_billed_before() -> None:
    job = JobBooks(
        price=Agreed.CEILING,
        is_plan_owed=True,
        logged=[item("60")],
        agreed=Decimal(100),
        billed=Decimal(70),
    )

    assert figures(job) == [("actual", Decimal("60.00"), GOODS), ("ceiling", Decimal("-30.00"), GOODS)]


def test_ceiling_that_is_used_up_bills_nothing_but_what_the_owner_adds() -> None:
    job = JobBooks(
        price=Agreed.CEILING,
        is_plan_owed=True,
        logged=[item("60")],
        overridden=[item("5", key=3)],
        agreed=Decimal(100),
        billed=Decimal(100),
    )

    assert figures(job) == [("actual", Decimal("5.00"), GOODS)]


@pytest.mark.parametrize("price", list(Agreed))
def test_job_that_was_not_done_bills_what_was_logged(price: Agreed) -> None:
    job = JobBooks(
        price=price,
        is_plan_owed=False,
        planned=[item("500")],
        logged=[item("40", tax=LABOUR)],
        agreed=Decimal(500),
    )

    assert figures(job) == [("actual", Decimal("40.00"), LABOUR)]


def test_quotes_discount_comes_off_logged_rows_and_then_the_ceiling_counts() -> None:
    off = Decimal("0.1")
    job = JobBooks(
        price=Agreed.CEILING,
        is_plan_owed=True,
        logged=[item("33.35", off_share=off), item("66.70", tax=LABOUR, key=2, off_share=off)],
        agreed=Decimal(80),
    )

    # by hand: 3.335 → 3.34 (half up) and 6.67 off; left 90.04, above 80.00: 10.04, shared by
    # 30.01 : 60.03 → 3.3463 and 6.6937 → 3.35 and 6.69
    assert figures(job) == [
        ("actual", Decimal("33.35"), GOODS),
        ("actual", Decimal("66.70"), LABOUR),
        ("discount", Decimal("-3.34"), GOODS),
        ("discount", Decimal("-6.67"), LABOUR),
        ("ceiling", Decimal("-3.35"), GOODS),
        ("ceiling", Decimal("-6.69"), LABOUR),
    ]
    assert sum_of(billed_lines(job, rules=RULES), rules=RULES) == 80


def test_row_that_was_not_on_the_quote_gets_no_discount_of_it() -> None:
    job = JobBooks(
        price=Agreed.TIME, is_plan_owed=True, logged=[item("10", off_share=Decimal("0.5")), item("10", key=2)]
    )

    assert figures(job)[2:] == [("discount", Decimal("-5.00"), GOODS)]


def test_quotes_discount_is_spread_as_the_quote_spread_it() -> None:
    lines = [item("10.05"), item("0.05", tax=LABOUR, key=2), item("20.10", key=3)]

    # by hand: 30.20 × 0.05 = 1.51; by code 30.15 : 0.05 → 1.5075 and 0.0025 → 1.51 and 0.00;
    # within the goods 10.05 : 20.10 → 0.5033 and 1.0067 → 0.50 and 1.01
    assert agreed_offs(lines, share=Decimal("0.05"), rules=RULES) == [
        Decimal("0.50"),
        Decimal("0.00"),
        Decimal("1.01"),
    ]


def test_fixed_price_less_the_quotes_discount_by_tax_code() -> None:
    planned = [
        item("10.05", off=Decimal("0.50")),
        item("20.10", key=3, off=Decimal("1.01")),
        item("8", tax=LABOUR, key=4, off=Decimal(0)),
    ]
    job = JobBooks(price=Agreed.FIXED, is_plan_owed=True, planned=planned, off_words="Club member")

    assert figures(job)[3:] == [("discount", Decimal("-1.51"), GOODS)]


def test_line_made_a_gift_gets_no_discount_on_top() -> None:
    gift = item("40", off=Decimal(4), discount=Decimal(1))
    job = JobBooks(price=Agreed.FIXED, is_plan_owed=True, planned=[gift])

    assert figures(job) == [("plan", Decimal("0.00"), GOODS)]


def test_minimum_charge_brings_a_small_job_up_to_what_was_agreed() -> None:
    small = item("55", key=7, sources=(("plan_line", 7),), description="Minimum charge")
    job = JobBooks(
        price=Agreed.TIME, is_plan_owed=True, logged=[item("30")], agreed=Decimal(95), minimum=small
    )

    lines = billed_lines(job, rules=RULES)

    # by hand: 95.00 agreed with the minimum, 30.00 logged: 65.00 are missing
    assert [(one.origin, one.amount) for one in lines] == [
        (Origin.ACTUAL, Decimal("30.00")),
        (Origin.PLAN, Decimal("65.00")),
    ]
    assert lines[1].item.sources == (("plan_line", 7),)


def test_minimum_charge_is_not_taken_when_the_work_reaches_it() -> None:
    job = JobBooks(
        price=Agreed.TIME,
        is_plan_owed=True,
        logged=[item("95")],
        agreed=Decimal(95),
        minimum=item("55", key=7),
    )

    assert figures(job) == [("actual", Decimal("95.00"), GOODS)]


@pytest.mark.parametrize(
    ("minutes", "hours"),
    [(0, "0"), (1, "0.016"), (20, "0.333"), (40, "0.666"), (60, "1"), (90, "1.5"), (100, "1.666")],
)
def test_minutes_are_cut_to_thousandths_of_an_hour(minutes: int, hours: str) -> None:
    assert hours_of(minutes) == Decimal(hours)


@pytest.mark.parametrize("minutes", [-1, -90])
def test_negative_minutes_are_refused(minutes: int) -> None:
    with pytest.raises(BadInput, match="0 or more"):
        hours_of(minutes)


@pytest.mark.parametrize("minutes", [True, 1.5, "60"])
def test_minutes_that_are_no_whole_number_are_a_mistake(minutes: Any) -> None:
    with pytest.raises(TypeError, match="whole minutes"):
        hours_of(minutes)


def test_time_is_summed_before_it_is_cut() -> None:
    entries = [clocked(20, key=key) for key in (1, 2, 3)]

    lines = grouped_time([*entries, clocked(30, key=4, price="90"), clocked(6, key=5, words="Test")])

    # by hand: three times 20 minutes are one hour, not 0.999
    assert [(one.description, one.quantity, one.unit_price) for one in lines] == [
        ("Repair", Decimal("1.000"), Decimal(120)),
        ("Repair", Decimal("0.500"), Decimal(90)),
        ("Test", Decimal("0.100"), Decimal(120)),
    ]
    assert lines[0].sources == (("time_entry", 1), ("time_entry", 2), ("time_entry", 3))


def test_amount_takes_the_lines_discount_and_rounds_once() -> None:
    # by hand: 0.75 × 28.455 × 0.875 = 18.67359…
    assert amount_of(item("28.455", quantity="0.75", discount=Decimal("0.125")), rules=RULES) == Decimal(
        "18.67"
    )


@pytest.mark.parametrize(
    ("share", "most"), [("0", "1000.05"), ("0.1", "1100.05"), ("0.0333", "1033.35"), ("1", "2000.10")]
)
def test_most_billable_is_cut_to_the_coin(share: str, most: str) -> None:
    # by hand: 1,000.05 × 0.1 = 100.005 → 100.00; × 0.0333 = 33.30166… → 33.30
    assert most_billable(Decimal("1000.05"), share_over=Decimal(share), rules=RULES) == Decimal(most)


def test_most_billable_refuses_a_share_above_the_whole() -> None:
    with pytest.raises(BadInput, match="a share from 0 to 1"):
        most_billable(Decimal(1), share_over=Decimal("1.5"), rules=RULES)


AMOUNTS = st.decimals(min_value=0, max_value=5_000, places=4)
QUANTITIES = st.decimals(min_value="0.001", max_value=40, places=3)
ITEMS = st.lists(
    st.builds(
        lambda price, quantity, tax, discount: item(
            str(price), quantity=str(quantity), tax=tax, discount=discount
        ),
        AMOUNTS,
        QUANTITIES,
        st.sampled_from([GOODS, LABOUR, 3]),
        st.sampled_from([Decimal(0), Decimal("0.1"), Decimal("0.3333")]),
    ),
    max_size=8,
)
COINS = st.decimals(min_value=0, max_value=9_000, places=2)
# how long drawing takes says something of the machine alone
unhurried = settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)


@unhurried
@given(logged=ITEMS, agreed=COINS, billed=COINS, share=st.sampled_from(["0", "0.05", "0.3333", "1"]))
def test_ceiling_is_never_exceeded(logged: list[Item], agreed: Decimal, billed: Decimal, share: str) -> None:
    logged = [replace(one, off_share=Decimal(share)) for one in logged]
    job = JobBooks(
        price=Agreed.CEILING,
        is_plan_owed=True,
        logged=logged,
        agreed=agreed,
        billed=billed,
    )
    open_job = replace(job, price=Agreed.TIME)

    total = sum_of(billed_lines(job, rules=RULES), rules=RULES)

    uncut = sum_of(billed_lines(open_job, rules=RULES), rules=RULES)
    assert total == min(uncut, max(agreed - billed, Decimal(0)))


@unhurried
@given(amount=COINS, weights=st.dictionaries(st.integers(1, 5), AMOUNTS, min_size=1))
def test_what_is_taken_off_adds_up_to_the_coin(amount: Decimal, weights: dict[int, Decimal]) -> None:
    lines = taken_off(amount, weights=weights, words="off", rules=RULES)

    assert sum((amount_of(one, rules=RULES) for one in lines), Decimal(0)) == -amount
    assert all(one.unit_price > 0 for one in lines)


@unhurried
@given(minutes=st.lists(st.integers(1, 1_440), min_size=1, max_size=12))
def test_hours_are_never_in_the_shops_favour(minutes: list[int]) -> None:
    lines = grouped_time([clocked(one, key=key) for key, one in enumerate(minutes)])

    billed = lines[0].quantity * 60 if lines else Decimal(0)
    assert 0 <= sum(minutes) - billed < Decimal("0.06")
    assert len(lines[0].sources) == len(minutes)


@unhurried
@given(lines=ITEMS, share=st.decimals(min_value=0, max_value=1, places=4))
def test_quotes_discount_adds_up_and_takes_no_line_below_nil(lines: list[Item], share: Decimal) -> None:
    offs = agreed_offs(lines, share=share, rules=RULES)

    amounts = [amount_of(line, rules=RULES) for line in lines]
    assert abs(sum(offs) - sum(amounts) * share) <= Decimal("0.005")
    assert all(0 <= off <= amount for off, amount in zip(offs, amounts, strict=True))

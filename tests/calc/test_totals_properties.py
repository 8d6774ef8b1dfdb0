"""Document totals against exact fractions: every rounding, level, price basis, compounding and currency."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.money import Rounding
from shopapp.calc.tax import TaxComponent, TaxLevel, TaxTreatment
from shopapp.calc.totals import Adjustment, Line, Rules, Totals, document_totals
from tests.calc import oracle

DIGITS = {"JPY": 0, "CAD": 2, "KWD": 3}


def taxed(code: str, *taxes: tuple[str, str, bool]) -> TaxTreatment:
    components = tuple(
        TaxComponent(name=name, rate=Decimal(rate), compounds=compounds) for name, rate, compounds in taxes
    )
    return TaxTreatment(code=code, category="S", components=components)


# Treatments that share components, and compound on different ones.
TREATMENTS = [
    taxed("federal", ("GST", "0.05", False)),
    taxed("two", ("GST", "0.05", False), ("QST", "0.09975", False)),
    taxed("compound", ("GST", "0.05", False), ("QST", "0.09975", True)),
    taxed("other", ("HST", "0.13", False)),
    taxed("three", ("GST", "0.05", False), ("PST", "0.07", True), ("levy", "0.0125", True)),
    taxed("mixed", ("PST", "0.07", False), ("levy", "0.0125", True), ("GST", "0.05", False)),
    TaxTreatment(code="zero", category="Z", components=(TaxComponent(name="GST", rate=Decimal(0)),)),
    TaxTreatment(code="exempt", category="E", exemption_reason="resale"),
    TaxTreatment(code="permit", category="E", exemption_reason="permit 7"),
    TaxTreatment(code="outside", category="O", exemption_reason="deposit on a core"),
]

shares = st.one_of(st.just(Decimal(0)), st.decimals(0, 1, places=4), st.just(Decimal(1)))
lines = st.builds(
    Line,
    quantity=st.decimals(-1000, 1000, places=3),
    unit_price=st.decimals(0, 10000, places=4),
    tax=st.sampled_from(TREATMENTS),
    discount=shares,
    base_quantity=st.sampled_from([Decimal(1), Decimal(3), Decimal(100)]),
)
# Tiny amounts meet halves and ties far more often than large ones.
small_lines = st.builds(
    Line,
    quantity=st.sampled_from([Decimal(1), Decimal(-1), Decimal("0.5")]),
    unit_price=st.integers(0, 60).map(lambda cents: Decimal(cents).scaleb(-2)),
    tax=st.sampled_from(TREATMENTS),
)
some_lines = st.one_of(st.lists(lines, max_size=8), st.lists(small_lines, max_size=12))
rules = st.builds(
    Rules,
    currency=st.sampled_from(list(DIGITS)),
    rounding=st.sampled_from(Rounding),
    tax_level=st.sampled_from(TaxLevel),
    prices_include_tax=st.booleans(),
)
whole_amounts = st.integers(-5000, 5000).map(Decimal)
adjustments = st.lists(
    st.builds(Adjustment, amount=whole_amounts, reason=st.just("agreed"), tax=st.sampled_from(TREATMENTS)),
    max_size=3,
)


def plain(treatment: TaxTreatment) -> oracle.Treatment:
    taxes = tuple((one.name, Fraction(one.rate), one.compounds) for one in treatment.components)
    return treatment.category, taxes


def items_of(
    some: Sequence[Line], allowances: Sequence[Adjustment], charges: Sequence[Adjustment], rules: Rules
) -> list[oracle.Item]:
    """Every amount of the document in coins, worked out by the oracle."""
    coins, even = 10 ** DIGITS[rules.currency], rules.rounding == Rounding.HALF_EVEN
    amounts = [
        oracle.line_coins(
            {
                "quantity": Fraction(line.quantity),
                "price": Fraction(line.unit_price),
                "base": Fraction(line.base_quantity),
                "discount": Fraction(line.discount),
            },
            coins=coins,
            even=even,
        )
        for line in some
    ]
    return [
        *((amount, plain(line.tax)) for amount, line in zip(amounts, some, strict=True)),
        *((-int(one.amount) * coins, plain(one.tax)) for one in allowances),
        *((int(one.amount) * coins, plain(one.tax)) for one in charges),
    ]


def in_coins(amount: Decimal, rules: Rules) -> int:
    exact = Fraction(amount) * 10 ** DIGITS[rules.currency]
    assert exact.denominator == 1
    return exact.numerator


def rows_in_coins(totals: Totals, rules: Rules) -> oracle.Rows:
    return {
        (row.category, row.component_name, Fraction(row.rate)): (
            in_coins(row.taxable, rules),
            in_coins(row.tax, rules),
        )
        for row in totals.tax_rows
    }


def taxes_by_level(items: list[oracle.Item], rules: Rules) -> dict[oracle.Key, int]:
    """The tax in prices with tax, by row, on the whole or line by line."""
    even = rules.rounding == Rounding.HALF_EVEN
    batches = [[item] for item in items] if rules.tax_level == TaxLevel.LINE else [items]
    added: dict[oracle.Key, int] = defaultdict(int)
    for batch in batches:
        for key, tax in oracle.tax_within(batch, even=even).items():
            added[key] += tax
    return dict(added)


@given(some_lines, adjustments, adjustments, rules)
def test_prices_without_tax_agree_with_oracle(
    some: list[Line], allowances: list[Adjustment], charges: list[Adjustment], rules: Rules
) -> None:
    exclusive = replace(rules, prices_include_tax=False)
    items = items_of(some, allowances, charges, exclusive)
    work_out = oracle.by_line if rules.tax_level == TaxLevel.LINE else oracle.rows_on_top

    totals = document_totals(some, allowances=allowances, charges=charges, rules=exclusive)

    expected = work_out(items, even=rules.rounding == Rounding.HALF_EVEN)
    net = sum(amount for amount, _ in items)
    assert [in_coins(one, rules) for one in totals.line_amounts] == [one[0] for one in items[: len(some)]]
    assert rows_in_coins(totals, exclusive) == expected
    assert in_coins(totals.without_tax, rules) == net
    assert in_coins(totals.with_tax, rules) == net + sum(tax for _, tax in expected.values())


@given(some_lines, adjustments, adjustments, rules)
def test_prices_with_tax_agree_with_oracle(
    some: list[Line], allowances: list[Adjustment], charges: list[Adjustment], rules: Rules
) -> None:
    inclusive = replace(rules, prices_include_tax=True)
    items = items_of(some, allowances, charges, inclusive)

    totals = document_totals(some, allowances=allowances, charges=charges, rules=inclusive)

    expected = taxes_by_level(items, inclusive)
    found = rows_in_coins(totals, inclusive)
    gross = sum(amount for amount, _ in items)
    assert {key: tax for key, (_, tax) in found.items()} == expected
    assert in_coins(totals.with_tax, rules) == gross
    assert in_coins(totals.without_tax, rules) == gross - sum(expected.values())


@given(some_lines, rules)
def test_net_amounts_add_up_where_tax_is_within(some: list[Line], rules: Rules) -> None:
    """With one tax a treatment the taxable amounts are disjoint, so they add up to the total without tax."""
    single = [replace(line, tax=TREATMENTS[place % 2 * 3]) for place, line in enumerate(some)]

    totals = document_totals(single, rules=replace(rules, prices_include_tax=True))

    assert sum(row.taxable for row in totals.tax_rows) == totals.without_tax


@given(some_lines, adjustments, adjustments, rules, st.integers(-10000, 10000).map(Decimal), st.booleans())
def test_sums_add_up_to_the_coin(
    some: list[Line],
    allowances: list[Adjustment],
    charges: list[Adjustment],
    rules: Rules,
    paid: Decimal,
    in_coins_of_five: bool,
) -> None:
    paying = replace(rules, cash_step=Decimal(5) if in_coins_of_five else None)

    totals = document_totals(some, allowances=allowances, charges=charges, rules=paying, paid=paid)

    entered = totals.with_tax if rules.prices_include_tax else totals.without_tax
    assert totals.sum_of_lines == sum(totals.line_amounts)
    assert entered == totals.sum_of_lines - totals.allowances + totals.charges
    assert totals.tax == sum(row.tax for row in totals.tax_rows)
    assert totals.with_tax == totals.without_tax + totals.tax
    assert totals.due == totals.with_tax - totals.paid + totals.rounding
    assert totals.due % 5 == 0 or not in_coins_of_five
    assert abs(totals.rounding) <= Decimal("2.5")


@given(some_lines.flatmap(lambda some: st.tuples(st.just(some), st.permutations(some))), rules)
def test_order_of_lines_changes_nothing(both: tuple[list[Line], list[Line]], rules: Rules) -> None:
    entered, shuffled = both

    first, second = (document_totals(some, rules=rules) for some in (entered, shuffled))

    assert sorted(first.line_amounts) == sorted(second.line_amounts)
    assert replace(first, line_amounts=()) == replace(second, line_amounts=())


@given(some_lines, rules)
def test_reversed_document_cancels_to_nothing(some: list[Line], rules: Rules) -> None:
    back = [replace(line, quantity=-line.quantity) for line in some]

    there, again = document_totals(some, rules=rules), document_totals(back, rules=rules)

    assert (again.without_tax, again.tax, again.due) == (-there.without_tax, -there.tax, -there.due)
    assert [row.tax for row in again.tax_rows] == [-row.tax for row in there.tax_rows]
    assert [row.taxable for row in again.tax_rows] == [-row.taxable for row in there.tax_rows]


@given(some_lines, rules)
def test_row_tax_follows_its_taxable_amount(some: list[Line], rules: Rules) -> None:
    """EN 16931 BR-CO-17 holds on every row of a breakdown of prices without tax."""
    per_row = replace(rules, prices_include_tax=False, tax_level=TaxLevel.BREAKDOWN)

    totals = document_totals(some, rules=per_row)

    even = rules.rounding == Rounding.HALF_EVEN
    assert [in_coins(row.tax, rules) for row in totals.tax_rows] == [
        oracle.whole(in_coins(row.taxable, rules) * Fraction(row.rate), even=even) for row in totals.tax_rows
    ]


@given(some_lines, rules)
def test_untaxed_document_takes_no_tax(some: list[Line], rules: Rules) -> None:
    free = [replace(line, tax=TREATMENTS[-1 - place % 4]) for place, line in enumerate(some)]

    totals = document_totals(free, rules=rules)

    assert totals.tax == 0
    assert totals.with_tax == totals.without_tax == totals.sum_of_lines

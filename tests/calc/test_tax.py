"""Tax against published rules and figures: Quebec, HST, Streamlined Sales Tax, HMRC, EN 16931."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.money import Rounding, quantize, round_money
from shopapp.calc.tax import (
    DatedComponent,
    TaxComponent,
    TaxLevel,
    TaxTreatment,
    exact_tax_within,
    round_cash,
    tax_on,
    treatment_at,
)
from shopapp.calc.totals import Line, Rules, document_totals
from tests.calc import oracle
from tests.reference.cases import Case, case, cases, ids

ALL = cases("tax")
SIDE_BY_SIDE = [one for one in ALL if one.id in {"TAX-001", "TAX-006", "TAX-008", "TAX-014"}]
SINGLE = [one for one in ALL if one.id in {"TAX-016", "TAX-017"}]
THIRD_DECIMAL = [one for one in ALL if one.id in {"TAX-020", "TAX-022", "TAX-023", "TAX-025"}]
# Rules in words, each of them: the third decimal decides, more than four goes up.
HALF_UP_RULES = [one for one in ALL if one.id in {"TAX-002", "TAX-019", "TAX-027", "TAX-028", "TAX-030"}]
BY_ITEM_OR_TOTAL = {
    "TAX-010": ("sum_of_line_rounded", "rounded_on_total"),
    "TAX-031": ("item_basis", "invoice_basis"),
}
SINGLY = {"TAX-003", "TAX-005", "TAX-011", "TAX-013", "TAX-033", "TAX-036", "TAX-038"}
NOT_APPLYING = {
    "TAX-034": "permission to round down in the United Kingdom; the shop offers half up and half even only",
    "TAX-037": "says that EU law sets no rounding method: nothing to compute",
    "TAX-040": "bracket tables of two states: not offered",
    "TAX-041": "rates are data that the shop enters, and its note doubts one of them",
}
QUEBEC = TaxTreatment(
    code="QC",
    category="S",
    components=(
        TaxComponent(name="GST", rate=Decimal("0.05")),
        TaxComponent(name="QST", rate=Decimal("0.09975")),
    ),
)


def share(per_cent: str) -> Decimal:
    return Decimal(per_cent.removesuffix("%")) / 100


def taxes(base: str, rates: list[str]) -> list[str]:
    components = [TaxComponent(name=str(place), rate=share(rate)) for place, rate in enumerate(rates)]
    taken = tax_on(Decimal(base), components=components, currency="CAD", rounding=Rounding.HALF_UP)
    return [str(one.tax) for one in taken]


def added(amounts: list[str]) -> str:
    return str(sum(map(Decimal, amounts)))


def test_every_published_case_is_replayed_or_listed() -> None:
    by_list = ids([*SIDE_BY_SIDE, *SINGLE, *THIRD_DECIMAL, *HALF_UP_RULES])
    replayed = [*by_list, *BY_ITEM_OR_TOTAL, *SINGLY]

    assert sorted([*replayed, *NOT_APPLYING]) == sorted(ids(ALL))


@pytest.mark.parametrize("case", SIDE_BY_SIDE, ids=str)
def test_two_taxes_side_by_side(case: Case) -> None:
    second = "pst" if "pst" in case.expected else "qst"
    rates = [case.inputs.get("gst", "5%"), case.inputs.get(second, "9.975%")]

    taken = taxes(case.inputs["price"], rates)

    assert taken == [case.expected["gst"], case.expected[second]]
    assert added([case.inputs["price"], *taken]) == case.expected["total"]


@pytest.mark.parametrize("case", SINGLE, ids=str)
def test_single_harmonised_tax(case: Case) -> None:
    taken = taxes(case.inputs["price"], [case.inputs["hst"]])

    assert taken == [case.expected["hst"]]
    assert added([case.inputs["price"], *taken]) == case.expected["total"]


@pytest.mark.parametrize("case", THIRD_DECIMAL, ids=str)
def test_tax_is_rounded_by_its_third_decimal(case: Case) -> None:
    rounded = round_money(Decimal(case.inputs["raw_tax"]), currency="USD", rounding=Rounding.HALF_UP)

    assert str(rounded) == case.expected["tax"]


@pytest.mark.parametrize("case", HALF_UP_RULES, ids=str)
def test_rule_in_words_is_half_up(case: Case) -> None:
    """1230 to 1239 at 0.1 % is 1.230 to 1.239: every third decimal once."""
    rate = Decimal("0.001")
    bases = [Decimal(1230 + third) for third in range(10)]
    components = [TaxComponent(name=case.id, rate=rate)]

    taken = [tax_on(base, components=components, currency="USD", rounding=Rounding.HALF_UP) for base in bases]

    assert [str(one[0].tax) for one in taken] == ["1.23"] * 5 + ["1.24"] * 5


@pytest.mark.parametrize("id_", BY_ITEM_OR_TOTAL)
def test_rounding_by_item_differs_from_total(id_: str) -> None:
    one = case("tax", id_)
    by_item, on_total = BY_ITEM_OR_TOTAL[id_]
    tax = TaxTreatment(
        code=id_, category="S", components=(TaxComponent(name="T", rate=share(one.inputs["rate"])),)
    )
    lines = [Line(quantity=Decimal(1), unit_price=Decimal(price), tax=tax) for price in one.inputs["lines"]]
    rules = {"currency": "CAD", "rounding": Rounding.HALF_UP}

    found = [document_totals(lines, rules=Rules(tax_level=level, **rules)).tax for level in TaxLevel]

    assert list(TaxLevel) == [TaxLevel.BREAKDOWN, TaxLevel.LINE]
    assert [str(tax) for tax in found] == [one.expected[on_total], one.expected[by_item]]


def test_rates_that_must_not_be_printed_are_not() -> None:
    forbidden = {share(rate) for rate in case("tax", "TAX-003").expected["rates_that_must_not_be_printed"]}
    line = Line(quantity=Decimal(1), unit_price=Decimal(100), tax=QUEBEC)
    rules = Rules(currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN)

    printed = {row.rate for row in document_totals([line], rules=rules).tax_rows}

    assert printed == {Decimal("0.05"), Decimal("0.09975")}
    assert printed & forbidden == set()


def test_cash_is_rounded_to_five_cents() -> None:
    one = case("tax", "TAX-005")

    cash = [str(round_cash(Decimal(total), step=Decimal("0.05"))) for total in one.inputs["totals"]]

    assert cash == one.expected["cash"]


def test_combined_and_split_tax_are_both_possible() -> None:
    """TAX-011 says that both are allowed, TAX-013 gives figures. 13 % as 5 % and 8 %: from memory."""
    figures = case("tax", "TAX-013")
    price = figures.inputs["price"]

    split, combined = taxes(price, ["5%", "8%"]), taxes(price, ["13%"])

    assert case("tax", "TAX-011").expected == {"both_allowed": True}
    assert (split, added(split)) == (figures.expected["components"], figures.expected["sum"])
    assert combined == [figures.expected["combined"]]


def test_separate_and_aggregated_local_taxes() -> None:
    one = case("tax", "TAX-033")
    rates = [one.inputs[level] for level in ("state", "county", "city")]
    together = f"{sum(Decimal(rate.removesuffix('%')) for rate in rates)}%"

    separate, aggregated = taxes(one.inputs["price"], rates), taxes(one.inputs["price"], [together])

    assert (separate, added(separate)) == (one.expected["separate"], one.expected["separate_sum"])
    assert aggregated == [one.expected["aggregated"]]


def test_british_ways_of_rounding() -> None:
    one = case("tax", "TAX-036")
    exact = Fraction(Decimal(one.inputs["net"])) * Fraction(share(one.inputs["rate"]))

    assert quantize(exact, exponent=Decimal("0.001"), mode="half_up") == Decimal(one.expected["vat_exact"])
    assert taxes(one.inputs["net"], [one.inputs["rate"]]) == [one.expected["nearest_penny"]]
    assert str(quantize(exact, exponent=Decimal("0.01"), mode="down")) == one.expected["rounded_down_total"]
    assert str(quantize(exact, exponent=Decimal("0.001"), mode="down")) == one.expected["line_down_to_0.1p"]


def test_tax_is_rounded_once_per_category_and_rate() -> None:
    """TAX-038: three bases of 0.10 at 5 % are 0.015 together (0.02), not three times 0.005 (0.03)."""
    tax = TaxTreatment(code="S5", category="S", components=(TaxComponent(name="VAT", rate=Decimal("0.05")),))
    lines = [Line(quantity=Decimal(1), unit_price=Decimal("0.10"), tax=tax)] * 3
    rules = Rules(currency="EUR", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN)

    totals = document_totals(lines, rules=rules)

    assert case("tax", "TAX-038").expected["level"] == "once per category and rate, 2 decimals"
    assert [str(row.tax) for row in totals.tax_rows] == ["0.02"]


def test_compounding_tax_is_taken_on_taxes_before() -> None:
    """By hand: 5 % of 39.99 is 2.00 (1.9995); 7 % of 41.99 is 2.94 (2.9393)."""
    components = (
        TaxComponent(name="federal", rate=Decimal("0.05")),
        TaxComponent(name="provincial", rate=Decimal("0.07"), compounds=True),
    )

    taken = tax_on(Decimal("39.99"), components=components, currency="CAD", rounding=Rounding.HALF_UP)

    assert [(str(one.taxable), str(one.tax)) for one in taken] == [("39.99", "2.00"), ("41.99", "2.94")]


rates = st.decimals(0, 1, places=5)
components = st.lists(st.tuples(rates, st.booleans()), max_size=4)


@given(st.integers(-(10**9), 10**9), components, st.sampled_from(Rounding))
def test_tax_on_base_agrees_with_oracle(
    coins: int, some: list[tuple[Decimal, bool]], rounding: Rounding
) -> None:
    made = [
        TaxComponent(name=str(place), rate=rate, compounds=compounds)
        for place, (rate, compounds) in enumerate(some)
    ]

    taken = tax_on(Decimal(coins).scaleb(-2), components=made, currency="CAD", rounding=rounding)

    plain = tuple((one.name, Fraction(one.rate), one.compounds) for one in made)
    expected = oracle.chain(coins, plain, even=rounding == Rounding.HALF_EVEN)
    assert [int(one.tax.scaleb(2)) for one in taken] == expected


@given(st.decimals(0, 10**6, places=2), components)
def test_tax_within_price_leaves_its_net(gross: Decimal, some: list[tuple[Decimal, bool]]) -> None:
    made = [
        TaxComponent(name=str(place), rate=rate, compounds=compounds)
        for place, (rate, compounds) in enumerate(some)
    ]

    contained = exact_tax_within(gross, components=made)

    net, before = Fraction(gross) - sum(contained), Fraction(0)
    for component, tax in zip(made, contained, strict=True):
        assert tax == (net + (before if component.compounds else 0)) * Fraction(component.rate)
        before += tax


def test_component_is_chosen_by_day() -> None:
    """Half-open: the new rate holds on its first day, the old one no longer does."""
    old, new = (TaxComponent(name="HST", rate=Decimal(rate)) for rate in ("0.15", "0.14"))
    dated = [
        DatedComponent(component=old, valid_from=date(2016, 7, 1), valid_until=date(2025, 4, 1)),
        DatedComponent(component=new, valid_from=date(2025, 4, 1)),
    ]

    days = [date(2016, 7, 1), date(2025, 3, 31), date(2025, 4, 1), date(2040, 1, 1)]
    found = [treatment_at(dated, on=day, code="HST", category="S").components for day in days]

    assert found == [(old,), (old,), (new,), (new,)]


def test_day_without_a_rate_is_refused() -> None:
    dated = [DatedComponent(component=QUEBEC.components[0], valid_from=date(2020, 1, 1))]

    with pytest.raises(BadInput) as refused:
        treatment_at(dated, on=date(2019, 12, 31), code="GST", category="S")

    assert str(refused.value) == (
        'tax code GST: "2019-12-31" is not accepted. Give a day on which one of its rates is in force.'
    )


def test_overlapping_rates_of_one_tax_are_refused() -> None:
    dated = [
        DatedComponent(component=TaxComponent(name="GST", rate=Decimal(rate)), valid_from=date(2020, 1, 1))
        for rate in ("0.05", "0.06")
    ]

    with pytest.raises(BadInput, match="Give each tax once"):
        treatment_at(dated, on=date(2021, 1, 1), code="GST", category="S")


def test_empty_span_of_days_is_refused() -> None:
    day = date(2020, 1, 1)

    with pytest.raises(BadInput, match="a day after 2020-01-01"):
        DatedComponent(component=QUEBEC.components[0], valid_from=day, valid_until=day)


@pytest.mark.parametrize(
    ("category", "rate", "reason", "accepted"),
    [
        ("X", "0", "", "one of S (taxed), Z (zero rated), E (exempt), O (outside the scope of tax)"),
        ("AE", "0", "reverse", "one of S (taxed), Z (zero rated), E (exempt), O (outside the scope of tax)"),
        ("Z", "0.05", "", "category S where a rate is above 0"),
        ("E", "0.05", "resale", "category S where a rate is above 0"),
        ("S", "0", "", "a rate above 0, or category Z, E or O"),
        ("E", "0", " ", "the reason why no tax is taken"),
        ("O", "0", "", "the reason why no tax is taken"),
        ("S", "0.05", "because", "a reason with category E or O only"),
        ("Z", "0", "because", "a reason with category E or O only"),
    ],
)
def test_treatment_that_contradicts_itself_is_refused(
    category: str, rate: str, reason: str, accepted: str
) -> None:
    """EN 16931 BR-S-05, BR-Z-05, BR-E-05, BR-E-10, BR-O-10, BR-S-10, BR-Z-10."""
    with pytest.raises(BadInput) as refused:
        TaxTreatment(
            code="T",
            category=category,
            components=(TaxComponent(name="GST", rate=Decimal(rate)),),
            exemption_reason=reason,
        )

    assert refused.value.accepted == accepted


@pytest.mark.parametrize("rate", ["-0.01", "1.01", "5", "NaN", "Infinity"])
def test_rate_is_a_share(rate: str) -> None:
    with pytest.raises(BadInput):
        TaxComponent(name="GST", rate=Decimal(rate))


def test_float_rate_is_a_type_error() -> None:
    with pytest.raises(TypeError):
        TaxComponent(name="GST", rate=0.05)


@pytest.mark.parametrize(
    ("amount", "step", "rounded"),
    [("0.25", "0.5", "0.5"), ("-0.25", "0.5", "-0.5"), ("1801.78", "1", "1802"), ("10.024", "0.05", "10.00")],
)
def test_cash_rounds_half_away_from_nil(amount: str, step: str, rounded: str) -> None:
    assert round_cash(Decimal(amount), step=Decimal(step)) == Decimal(rounded)


@pytest.mark.parametrize("step", ["0", "-0.05"])
def test_cash_step_must_be_above_nil(step: str) -> None:
    with pytest.raises(BadInput, match="above 0"):
        round_cash(Decimal(1), step=Decimal(step))

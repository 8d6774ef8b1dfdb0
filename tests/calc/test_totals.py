"""Document totals against the published example invoices of EN 16931 and hand-worked documents."""

from decimal import Decimal
from typing import Any

import pytest

from shopapp.calc.errors import BadInput
from shopapp.calc.money import Rounding
from shopapp.calc.tax import TaxComponent, TaxLevel, TaxTreatment
from shopapp.calc.totals import (
    Adjustment,
    Line,
    LineAdjustment,
    Rules,
    TaxRow,
    Totals,
    document_totals,
    line_amount,
)
from tests.reference.cases import Case, cases, ids

ALL = cases("invoice_totals")
NOT_APPLYING = {
    "INV-040": "reverse charge (AE) between firms of the European Union; the shop offers S, Z, E and O",
}
# The cases do not carry the reasons of their exempt rows, so one is put in.
REASON = "named on the source document"
FROM_PRICES = [one for one in ALL if one.replay.startswith("full") and one.id not in NOT_APPLYING]
FROM_LINE_AMOUNTS = [one for one in ALL if one.replay == "totals-only"]
# INV-015 rounds forints to whole ones; by ISO 4217 they have two decimals, so yen stand in for them.
WHOLE_UNITS = {"HUF": "JPY"}
ROW = tuple[str, Decimal, Decimal, Decimal]


def treatment(category: str, rate: str | None) -> TaxTreatment:
    share = Decimal(rate or 0) / 100
    return TaxTreatment(
        code=f"{category} {rate}",
        category=category,
        components=(TaxComponent(name="VAT", rate=share),),
        exemption_reason=REASON if category in "EO" else "",
    )


def exact_price(price: str, base: str) -> dict[str, Decimal]:
    """Prices of more than four decimals are kept by the thousand, which is the same price."""
    if Decimal(price) == round(Decimal(price), 4):
        return {"unit_price": Decimal(price), "base_quantity": Decimal(base)}
    return {"unit_price": Decimal(price) * 1000, "base_quantity": Decimal(base) * 1000}


def priced_line(raw: dict[str, Any]) -> Line:
    inside = tuple(
        LineAdjustment(amount=Decimal(one["amount"]), reason=one["reason"], is_charge=one["kind"] == "charge")
        for one in raw["line_allowances_charges"]
    )
    return Line(
        quantity=Decimal(raw["quantity"]),
        tax=treatment(raw["vat_category"], raw.get("vat_rate")),
        adjustments=inside,
        **exact_price(raw["net_price"], raw.get("price_base_quantity", "1")),
    )


def printed_line(raw: dict[str, Any]) -> Line:
    """A line that is only its printed net amount, for sources whose prices do not give it."""
    net = Decimal(raw["line_net_amount"])
    tax = treatment(raw["vat_category"], raw.get("vat_rate"))
    return Line(quantity=Decimal(-1 if net < 0 else 1), unit_price=abs(net), tax=tax)


def adjusted(case: Case, kind: str) -> list[Adjustment]:
    return [
        Adjustment(
            amount=Decimal(one["amount"]),
            reason=one["reason"],
            tax=treatment(one["vat_category"], one.get("vat_rate")),
        )
        for one in case.inputs["document_allowances_charges"]
        if one["kind"] == kind
    ]


def replay(case: Case, lines: list[Line]) -> Totals:
    expected = case.expected["totals"]
    in_whole_units = Decimal(expected.get("rounding_amount_BT114", "0")) != 0
    currency = case.inputs["currency"]
    rules = Rules(
        currency=WHOLE_UNITS.get(currency, currency),
        rounding=Rounding.HALF_UP,
        tax_level=TaxLevel.BREAKDOWN,
        cash_step=Decimal(1) if in_whole_units else None,
    )
    return document_totals(
        lines,
        allowances=adjusted(case, "allowance"),
        charges=adjusted(case, "charge"),
        rules=rules,
        paid=Decimal(expected.get("paid_amount_BT113", "0")),
    )


def printed_totals(case: Case) -> dict[str, Decimal]:
    nil_where_absent = {
        "sum_of_allowances_BT107": "0",
        "sum_of_charges_BT108": "0",
        "total_vat_BT110": "0",
        "paid_amount_BT113": "0",
        "rounding_amount_BT114": "0",
    }
    printed = nil_where_absent | case.expected["totals"]
    printed.pop("total_vat_in_accounting_currency_BT111", None)
    return {name: Decimal(value) for name, value in printed.items()}


def as_printed(totals: Totals) -> dict[str, Decimal]:
    return {
        "sum_of_line_net_amounts_BT106": totals.sum_of_lines,
        "sum_of_allowances_BT107": totals.allowances,
        "sum_of_charges_BT108": totals.charges,
        "total_without_vat_BT109": totals.without_tax,
        "total_vat_BT110": totals.tax,
        "total_with_vat_BT112": totals.with_tax,
        "paid_amount_BT113": totals.paid,
        "rounding_amount_BT114": totals.rounding,
        "amount_due_BT115": totals.due,
    }


def printed_rows(case: Case) -> list[ROW]:
    return sorted(
        (
            row["vat_category"],
            Decimal(row.get("vat_rate") or 0) / 100,
            Decimal(row["taxable_amount_BT116"]),
            Decimal(row["tax_amount_BT117"]),
        )
        for row in case.expected["vat_breakdown"]
    )


def rows_of(totals: Totals) -> list[ROW]:
    return sorted((row.category, row.rate, row.taxable, row.tax) for row in totals.tax_rows)


def test_every_published_case_is_replayed_or_listed() -> None:
    replayed = [one.id for one in (*FROM_PRICES, *FROM_LINE_AMOUNTS)]

    assert sorted([*replayed, *NOT_APPLYING]) == sorted(ids(ALL))


@pytest.mark.parametrize("case", FROM_PRICES, ids=str)
def test_invoice_is_replayed_from_its_prices(case: Case) -> None:
    lines = [priced_line(raw) for raw in case.inputs["lines"]]

    totals = replay(case, lines)

    printed = [Decimal(raw["line_net_amount"]) for raw in case.inputs["lines"]]
    assert list(totals.line_amounts) == printed
    assert as_printed(totals) == printed_totals(case)
    assert rows_of(totals) == printed_rows(case)


@pytest.mark.parametrize("case", FROM_LINE_AMOUNTS, ids=str)
def test_invoice_is_replayed_from_line_amounts(case: Case) -> None:
    lines = [printed_line(raw) for raw in case.inputs["lines"]]

    totals = replay(case, lines)

    assert as_printed(totals) == printed_totals(case)
    assert rows_of(totals) == printed_rows(case)


# ---- by hand ----

GST = TaxComponent(name="GST", rate=Decimal("0.05"))
QST = TaxComponent(name="QST", rate=Decimal("0.09975"))
ON_TOP = TaxComponent(name="PST", rate=Decimal("0.1"), compounds=True)
BOTH = TaxTreatment(code="both", category="S", components=(GST, QST))
FEDERAL = TaxTreatment(code="federal", category="S", components=(GST,))
COMPOUND = TaxTreatment(code="compound", category="S", components=(GST, ON_TOP))
EXEMPT = TaxTreatment(code="exempt", category="E", exemption_reason="band member, card 12")
RESALE = TaxTreatment(code="resale", category="E", exemption_reason="resale permit 7")
CANADA = Rules(currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN)
BY_LINE = Rules(currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.LINE)
WITH_TAX = Rules(
    currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN, prices_include_tax=True
)


def priced(price: str, tax: TaxTreatment = BOTH, quantity: str = "1", discount: str = "0") -> Line:
    return Line(quantity=Decimal(quantity), unit_price=Decimal(price), tax=tax, discount=Decimal(discount))


def short(rows: tuple[TaxRow, ...]) -> list[tuple[str, str, str]]:
    return [(row.component_name, str(row.taxable), str(row.tax)) for row in rows]


@pytest.mark.parametrize(
    ("quantity", "price", "discount", "amount"),
    [
        ("1.5", "89.95", "0", "134.93"),  # 134.925
        ("0.125", "0.04", "0", "0.01"),  # half a cent
        ("3", "19.99", "0.15", "50.97"),  # 50.9745
        ("-1.5", "89.95", "0", "-134.93"),
        ("2", "12.3456", "1", "0.00"),
        ("0", "12.34", "0", "0.00"),
    ],
)
def test_line_amount_is_rounded_once(quantity: str, price: str, discount: str, amount: str) -> None:
    line = priced(price, quantity=quantity, discount=discount)

    assert str(line_amount(line, rules=CANADA)) == amount


def test_half_even_shop_rounds_to_even_cent() -> None:
    rules = Rules(currency="CAD", rounding=Rounding.HALF_EVEN, tax_level=TaxLevel.BREAKDOWN)

    amounts = [str(line_amount(priced("0.05", quantity=one), rules=rules)) for one in ("0.5", "0.7")]

    assert amounts == ["0.02", "0.04"]


def test_component_shared_by_treatments_is_totalled_once() -> None:
    """By hand: GST on 0.20 is 0.01; on 0.10 and 0.10 apart it would be 0.005 twice, so 0.02."""
    totals = document_totals([priced("0.10"), priced("0.10", FEDERAL)], rules=CANADA)

    assert short(totals.tax_rows) == [("GST", "0.20", "0.01"), ("QST", "0.10", "0.01")]
    assert str(totals.with_tax) == "0.22"


def test_tax_by_line_adds_rounded_lines() -> None:
    """By hand: GST 0.005 rounds to 0.01 on each of three lines; QST 0.009975 to 0.01."""
    totals = document_totals([priced("0.10")] * 3, rules=BY_LINE)

    assert short(totals.tax_rows) == [("GST", "0.30", "0.03"), ("QST", "0.30", "0.03")]
    assert str(totals.with_tax) == "0.36"


def test_compounding_row_includes_tax_before_it() -> None:
    """By hand: GST 5 % of 99.99 is 5.00 (4.9995); PST 10 % of 104.99 is 10.50 (10.499)."""
    totals = document_totals([priced("99.99", COMPOUND)], rules=CANADA)

    assert short(totals.tax_rows) == [("GST", "99.99", "5.00"), ("PST", "104.99", "10.50")]
    assert str(totals.with_tax) == "115.49"


def test_prices_with_tax_are_taken_apart() -> None:
    """By hand: 114.98 / 1.14975 is 100.0043; GST 5.0002, QST 9.9754; the rest is 100.00."""
    totals = document_totals([priced("114.98")], rules=WITH_TAX)

    assert short(totals.tax_rows) == [("GST", "100.00", "5.00"), ("QST", "100.00", "9.98")]
    assert (str(totals.without_tax), str(totals.tax), str(totals.with_tax)) == ("100.00", "14.98", "114.98")


def test_compounding_prices_with_tax_are_taken_apart() -> None:
    """By hand: 115.49 / 1.155 is 99.9913; GST 4.9996, PST 10.4991; net 99.99; PST is on 104.99."""
    totals = document_totals([priced("115.49", COMPOUND)], rules=WITH_TAX)

    assert short(totals.tax_rows) == [("GST", "99.99", "5.00"), ("PST", "104.99", "10.50")]


def test_shared_tax_within_prices_is_rounded_once() -> None:
    """By hand: GST in 0.10 at 5 % is 0.00476; in 0.10 at 14.975 % 0.00435; together 0.00911, so 0.01.

    The cent goes to the amount that lost more, the first; QST in 0.10 is 0.00868, so 0.01.
    """
    totals = document_totals([priced("0.10", FEDERAL), priced("0.10")], rules=WITH_TAX)

    assert short(totals.tax_rows) == [("GST", "0.18", "0.01"), ("QST", "0.09", "0.01")]
    assert (str(totals.without_tax), str(totals.with_tax)) == ("0.18", "0.20")


def test_tie_within_prices_ignores_order_of_lines() -> None:
    """By hand: GST in each 0.10 is 0.00446, together 0.01; the cent goes to one of them."""
    first, second = (
        TaxTreatment(code=name, category="S", components=(GST, TaxComponent(name=name, rate=Decimal("0.07"))))
        for name in ("PST A", "PST B")
    )
    lines = [priced("0.10", first), priced("0.10", second)]

    there, back = (document_totals(some, rules=WITH_TAX) for some in (lines, lines[::-1]))

    assert there.tax_rows == back.tax_rows
    assert short(there.tax_rows) == [
        ("GST", "0.17", "0.01"),
        ("PST A", "0.08", "0.01"),
        ("PST B", "0.09", "0.01"),
    ]


def test_allowance_and_charge_move_their_own_base() -> None:
    """By hand: 100 + 20 exempt, less 10 taxed, plus 5 exempt; GST 4.50, QST 8.98 (8.9775)."""
    allowance = Adjustment(amount=Decimal(10), reason="regular customer", tax=BOTH)
    charge = Adjustment(amount=Decimal(5), reason="freight", tax=EXEMPT)

    totals = document_totals(
        [priced("100"), priced("20", EXEMPT)], allowances=[allowance], charges=[charge], rules=CANADA
    )

    assert short(totals.tax_rows) == [
        ("GST", "90.00", "4.50"),
        ("QST", "90.00", "8.98"),
        ("", "25.00", "0.00"),
    ]
    assert (str(totals.without_tax), str(totals.with_tax)) == ("115.00", "128.48")


def test_exempt_row_keeps_every_reason() -> None:
    totals = document_totals([priced("5", RESALE), priced("5", EXEMPT)], rules=CANADA)

    assert totals.tax_rows == (
        TaxRow(
            category="E",
            component_name="",
            rate=Decimal(0),
            taxable=Decimal("10.00"),
            tax=Decimal("0.00"),
            exemption_reason="band member, card 12; resale permit 7",
        ),
    )


def test_no_lines_give_nil_totals() -> None:
    totals = document_totals([], rules=CANADA)

    nil = Decimal("0.00")
    assert totals.tax_rows == totals.line_amounts == ()
    assert set(as_printed(totals).values()) == {nil}
    assert str(totals.due) == "0.00"


def test_cash_is_rounded_on_what_is_owed() -> None:
    rules = Rules(
        currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN, cash_step=Decimal("0.05")
    )

    totals = document_totals([priced("100")], rules=rules, paid=Decimal("50.01"))

    assert (str(totals.with_tax), str(totals.rounding), str(totals.due)) == ("114.98", "-0.02", "64.95")


def test_deposit_above_total_leaves_credit() -> None:
    totals = document_totals([priced("10", EXEMPT)], rules=CANADA, paid=Decimal("12.50"))

    assert str(totals.due) == "-2.50"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"quantity": Decimal("1.0001")}, "quantity"),
        ({"quantity": Decimal("NaN")}, "quantity"),
        ({"unit_price": Decimal("-1")}, "unit price"),
        ({"unit_price": Decimal("0.00001")}, "unit price"),
        ({"unit_price": Decimal("Infinity")}, "unit price"),
        ({"discount": Decimal("1.01")}, "discount"),
        ({"discount": Decimal("-0.01")}, "discount"),
        ({"base_quantity": Decimal(0)}, "base quantity"),
    ],
)
def test_line_refuses_what_is_no_price(changed: dict[str, Decimal], field: str) -> None:
    sound = {"quantity": Decimal(1), "unit_price": Decimal(1), "tax": BOTH}

    with pytest.raises(BadInput) as refused:
        Line(**(sound | changed))

    assert refused.value.field == field


@pytest.mark.parametrize("field", ["quantity", "unit_price", "discount", "base_quantity"])
def test_line_never_meets_a_float(field: str) -> None:
    sound = {"quantity": Decimal(1), "unit_price": Decimal(1), "tax": BOTH}

    with pytest.raises(TypeError):
        Line(**(sound | {field: 0.5}))


@pytest.mark.parametrize("made", [Adjustment, LineAdjustment])
def test_adjustment_needs_its_reason(made: type) -> None:
    extra = {"tax": BOTH} if made is Adjustment else {}

    with pytest.raises(BadInput, match="the reason for this allowance or charge"):
        made(amount=Decimal(1), reason=" ", **extra)


def test_part_of_a_coin_is_refused_in_payments_and_adjustments() -> None:
    odd = Adjustment(amount=Decimal("0.005"), reason="rounding", tax=BOTH)
    inside = LineAdjustment(amount=Decimal("0.005"), reason="scratch")
    line = Line(quantity=Decimal(1), unit_price=Decimal(1), tax=BOTH, adjustments=(inside,))

    for use in (
        lambda: document_totals([], rules=CANADA, paid=Decimal("0.005")),
        lambda: document_totals([], rules=CANADA, charges=[odd]),
        lambda: document_totals([line], rules=CANADA),
    ):
        with pytest.raises(BadInput, match="at most two decimals"):
            use()


def test_rules_refuse_an_unknown_currency() -> None:
    with pytest.raises(BadInput, match="currency"):
        Rules(currency="ZZZ", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN)


@pytest.mark.parametrize("step", ["0", "-0.05", "0.005"])
def test_cash_step_is_made_of_coins(step: str) -> None:
    with pytest.raises(BadInput):
        Rules(
            currency="CAD", rounding=Rounding.HALF_UP, tax_level=TaxLevel.BREAKDOWN, cash_step=Decimal(step)
        )

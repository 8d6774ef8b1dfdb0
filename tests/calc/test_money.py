"""Money against published cases (ISO 4217, General Decimal Arithmetic, apportionment) and an exact oracle."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.money import (
    Rounding,
    allocate,
    format_money,
    format_number,
    from_e4,
    from_milli,
    from_minor,
    minor_digits,
    parse_number,
    quantize,
    require_coins,
    round_money,
    smallest_coin,
    to_e4,
    to_e6,
    to_milli,
    to_minor,
)
from tests.calc import oracle
from tests.reference.cases import Case, cases, ids

ALL = cases("money_rounding")
CURRENCIES = [one for one in ALL if one.topic == "ISO 4217 minor units"]
ROUNDINGS = [one for one in ALL if one.topic.startswith("decimal rounding")]
SEATS = [one for one in ALL if one.topic.startswith("largest remainder")]
DISCOUNTS = [one for one in ALL if one.topic.startswith("spread a discount")]
NAIVE = [one for one in ALL if one.topic.startswith("naive")]

# Source: the ISO 4217 table in datasets/currency-codes (PDDL), data/codes-all.csv, commit 051762c4b9c0.
# Beside those of the cases: codes where CLDR counts the coins in use and ISO 4217 does not.
ISO_BESIDE_CLDR = [("RSD", 2), ("IQD", 3), ("HUF", 2), ("MGA", 2), ("ALL", 2), ("KWD", 3), ("KRW", 0)]
NBSP = "\u00a0"

coins = st.integers(min_value=-(10**11), max_value=10**11)
weights = st.lists(st.integers(min_value=0, max_value=10**6), min_size=1, max_size=12)


def test_every_published_case_is_replayed() -> None:
    replayed = [*CURRENCIES, *ROUNDINGS, *SEATS, *DISCOUNTS, *NAIVE]

    assert len(replayed) == len(ALL)
    assert ids(replayed) == ids(ALL)


@pytest.mark.parametrize("case", CURRENCIES, ids=str)
def test_currency_rounds_to_its_minor_units(case: Case) -> None:
    code, amount = case.inputs["currency"], Decimal(case.inputs["amount"])

    half_up = round_money(amount, currency=code, rounding=Rounding.HALF_UP)
    half_even = round_money(amount, currency=code, rounding=Rounding.HALF_EVEN)

    assert minor_digits(code) == case.expected["minor_units"]
    assert (str(half_up), str(half_even)) == (case.expected["half_up"], case.expected["half_even"])


@pytest.mark.parametrize("case", ROUNDINGS, ids=str)
def test_rounding_follows_general_decimal_arithmetic(case: Case) -> None:
    value, exponent = Decimal(case.inputs["value"]), Decimal(case.inputs["exponent"])

    rounded = quantize(value, exponent=exponent, mode=case.inputs["mode"])
    from_fraction = quantize(Fraction(value), exponent=exponent, mode=case.inputs["mode"])

    assert str(rounded) == case.expected["result"]
    assert str(from_fraction) == case.expected["result"]


@pytest.mark.parametrize("case", SEATS, ids=str)
def test_allocation_follows_published_apportionment(case: Case) -> None:
    assert allocate(case.inputs["units"], weights=case.inputs["weights"]) == case.expected["allocation"]


@pytest.mark.parametrize("case", DISCOUNTS, ids=str)
def test_discount_is_spread_to_the_cent(case: Case) -> None:
    shares = allocate(case.inputs["discount_cents"], weights=case.inputs["line_cents"])

    assert shares == case.expected["shares_cents"]
    assert sum(shares) == case.expected["sum"]


@pytest.mark.parametrize("case", NAIVE, ids=str)
def test_allocation_adds_up_where_naive_does_not(case: Case) -> None:
    lines, discount = case.inputs["line_cents"], case.inputs["discount_cents"]
    shares = [Fraction(discount * line, sum(lines)) for line in lines]

    naive = [int(quantize(share, exponent=Decimal(1), mode="half_up")) for share in shares]

    assert (naive, sum(naive)) == (case.expected["naive_half_up"], case.expected["naive_sum"])
    assert allocate(discount, weights=lines) == case.expected["largest_remainder"]


@pytest.mark.parametrize(("code", "digits"), ISO_BESIDE_CLDR)
def test_minor_digits_are_of_iso_4217(code: str, digits: int) -> None:
    assert minor_digits(code) == digits
    assert smallest_coin(code) == Decimal(10) ** -digits


@pytest.mark.parametrize("code", ["ZZZ", "cad", "", "CAD ", "$"])
def test_unknown_currency_is_refused_by_sentence(code: str) -> None:
    with pytest.raises(BadInput) as refused:
        minor_digits(code)

    assert refused.value.sentence == (
        f'currency: "{code}" is not accepted. Give a currency code of three capital letters, '
        "such as CAD or EUR."
    )


@pytest.mark.parametrize(
    ("amount", "currency", "minor"),
    [
        ("12.34", "CAD", 1234),
        ("-12.340", "CAD", -1234),
        ("5", "JPY", 5),
        ("1.005", "KWD", 1005),
        ("0", "CAD", 0),
    ],
)
def test_minor_units_go_there_and_back(amount: str, currency: str, minor: int) -> None:
    assert to_minor(Decimal(amount), currency=currency) == minor
    assert from_minor(minor, currency=currency) == Decimal(amount)


def test_part_of_a_coin_is_refused() -> None:
    with pytest.raises(BadInput) as refused:
        to_minor(Decimal("1.005"), currency="CAD", field="deposit")

    assert str(refused.value) == (
        'deposit: "1.005" is not accepted. Give a number with at most two decimals.'
    )


def test_coins_are_written_with_their_decimals() -> None:
    assert str(require_coins(Decimal("5"), currency="CAD", field="paid")) == "5.00"


def test_stored_prices_and_quantities_are_exact() -> None:
    assert (to_e4(Decimal("0.0125"), field="unit price"), from_e4(125)) == (125, Decimal("0.0125"))
    assert to_e6(Decimal("0.09975"), field="tax rate") == 99_750
    assert (to_milli(Decimal("-1.5"), field="quantity"), from_milli(-1500)) == (-1500, Decimal("-1.5"))


@pytest.mark.parametrize(
    ("store", "value"), [(to_e4, "0.00001"), (to_e6, "0.0000001"), (to_milli, "0.0001"), (to_milli, "NaN")]
)
def test_stored_figures_refuse_what_does_not_fit(store: Callable[..., int], value: str) -> None:
    with pytest.raises(BadInput):
        store(Decimal(value), field="figure")


@pytest.mark.parametrize(
    "use",
    [
        lambda: round_money(1.5, currency="CAD", rounding=Rounding.HALF_UP),
        lambda: quantize(1.5, exponent=Decimal(1), mode="half_up"),
        lambda: to_minor(1.5, currency="CAD"),
        lambda: from_minor(1.5, currency="CAD"),
        lambda: to_e4(1.5, field="price"),
        lambda: from_e4(1.5),
        lambda: to_milli(1.5, field="quantity"),
        lambda: from_milli(1.5),
        lambda: allocate(1.5, weights=[1]),
        lambda: allocate(1, weights=[1.5]),
        lambda: allocate(True, weights=[1]),  # noqa: FBT003
        lambda: format_money(1.5, currency="CAD", locale="en_CA"),
        lambda: format_number(1.5, locale="en_CA"),
    ],
)
def test_floats_never_meet_money(use: Callable[[], object]) -> None:
    with pytest.raises(TypeError):
        use()


@pytest.mark.parametrize("value", ["NaN", "sNaN", "Infinity", "-Infinity", "1E+12"])
def test_money_refuses_what_is_no_amount(value: str) -> None:
    with pytest.raises(BadInput):
        round_money(Decimal(value), currency="CAD", rounding=Rounding.HALF_UP)


def test_unknown_rounding_mode_is_refused() -> None:
    with pytest.raises(BadInput, match="half_up, half_even"):
        quantize(Decimal(1), exponent=Decimal(1), mode="nearest")


@pytest.mark.parametrize(
    ("value", "rounded"),
    [
        (Fraction(1, 2) + Fraction(1, 10**90), "1"),
        (Fraction(1, 2), "0"),
        (Fraction(3, 2) - Fraction(1, 10**90), "1"),
        (Fraction(3, 2), "2"),
        (Fraction(1234567890123455, 10**4), "123456789012"),
    ],
)
def test_half_is_told_from_almost_half(value: Fraction, rounded: str) -> None:
    """Rounding twice would take the first and the third for halves, which go to the even neighbour."""
    assert str(quantize(value, exponent=Decimal(1), mode="half_even")) == rounded


def test_largest_amount_keeps_its_last_coin() -> None:
    exact = Fraction(Decimal("999999999999.345"))

    assert str(quantize(exact, exponent=Decimal("0.001"), mode="half_up")) == "999999999999.345"


def test_nil_never_carries_a_sign() -> None:
    rounded = round_money(Decimal("-0.004"), currency="CAD", rounding=Rounding.HALF_UP)

    assert str(rounded) == "0.00"


@given(
    st.fractions(min_value=-(10**9), max_value=10**9, max_denominator=10**9),
    st.sampled_from(["JPY", "CAD", "KWD"]),
    st.sampled_from(Rounding),
)
def test_rounding_agrees_with_exact_fractions(value: Fraction, currency: str, rounding: Rounding) -> None:
    digits = {"JPY": 0, "CAD": 2, "KWD": 3}[currency]

    rounded = round_money(value, currency=currency, rounding=rounding)

    expected = oracle.whole(value * 10**digits, even=rounding == Rounding.HALF_EVEN)
    assert to_minor(rounded, currency=currency) == expected


@given(st.integers(-(10**9), 10**9), st.sampled_from([2, 4, 6, 7, 9, 64, 625]))
def test_halves_agree_with_exact_fractions(numerator: int, denominator: int) -> None:
    value = Fraction(numerator, denominator)

    rounded = [round_money(value, currency="JPY", rounding=one) for one in Rounding]

    assert rounded == [oracle.whole(value, even=False), oracle.whole(value, even=True)]


@given(coins, weights)
def test_allocate_agrees_with_the_oracle(total: int, shares: list[int]) -> None:
    parts = allocate(total, weights=shares)

    assert sum(parts) == total
    assert parts == oracle.hamilton(total, [Fraction(one) for one in shares])


@given(coins, st.lists(st.decimals(0, 10**6, places=4), min_size=1, max_size=8))
def test_allocate_takes_decimal_weights(total: int, shares: list[Decimal]) -> None:
    parts = allocate(total, weights=shares)

    assert sum(parts) == total
    assert allocate(-total, weights=shares) == [-part for part in parts]


@pytest.mark.parametrize(
    ("total", "shares", "parts"),
    [(100, [0, 0, 0], [34, 33, 33]), (-100, [0, 0, 0], [-34, -33, -33]), (0, [1, 2], [0, 0]), (7, [5], [7])],
)
def test_allocate_shares_equally_without_weights(total: int, shares: list[int], parts: list[int]) -> None:
    assert allocate(total, weights=shares) == parts


@pytest.mark.parametrize("shares", [[], [-1, 2], [Decimal("NaN")], [Decimal("Infinity"), 1]])
def test_allocate_refuses_weights_that_share_nothing(shares: list[Decimal]) -> None:
    with pytest.raises(BadInput):
        allocate(100, weights=shares)


@pytest.mark.parametrize(
    ("text", "locale", "number"),
    [
        ("1,234.5", "en_CA", "1234.5"),
        (" 1234.50 ", "en_US", "1234.50"),
        ("1 234,5", "fr_CA", "1234.5"),
        ("1\u00a0234,5", "fr_CA", "1234.5"),
        ("1\u202f234,5", "fr_CA", "1234.5"),
        ("1 234,5", "fr_FR", "1234.5"),
        ("1.234,5", "de_DE", "1234.5"),
        ("\u22125", "en_CA", "-5"),
        ("-0", "en_CA", "0"),
        ("1.20000", "en_CA", "1.2"),
    ],
)
def test_typed_number_is_read_by_locale(text: str, locale: str, number: str) -> None:
    read = parse_number(text, locale=locale, field="quantity", decimals=3)

    assert read == Decimal(number)
    assert not read.is_signed() or read < 0


NONSENSE = [
    *("", " ", "abc", "NaN", "inf", "Infinity", "1e5", "1_000", "١٢", "²", "0x10", "5 kg", "<b>1</b>"),
    *("--5", "- 5", "1,2,3", "1,50", "1 234.5", "12..5", "1.2345"),
    *("9" * 13, "9" * 500, "1." + "0" * 33 + "1"),
]


@pytest.mark.parametrize("text", NONSENSE)
def test_typed_nonsense_is_refused_by_sentence(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse_number(text, locale="en_CA", field="quantity", decimals=3)

    assert refused.value.accepted == "a number with at most three decimals, written like 12.50"
    assert (refused.value.field, refused.value.value) == ("quantity", text)


@pytest.mark.parametrize(
    ("least", "most", "accepted"),
    [
        ("0", None, "a number of 0 or more with at most two decimals, written like 12,50"),
        (None, "-1", "a number of -1 or less with at most two decimals, written like 12,50"),
        ("0.5", "0.75", "a number from 0,5 to 0,75 with at most two decimals, written like 12,50"),
    ],
)
def test_number_out_of_range_is_refused(least: str | None, most: str | None, accepted: str) -> None:
    low, high = (None if one is None else Decimal(one) for one in (least, most))

    with pytest.raises(BadInput) as refused:
        parse_number("-0,25", locale="fr_CA", field="share", decimals=2, least=low, most=high)

    assert refused.value.accepted == accepted


def test_ends_of_the_range_are_accepted() -> None:
    ends = {"locale": "en_CA", "field": "share", "decimals": 0, "least": Decimal(0), "most": Decimal(100)}

    assert [parse_number(text, **ends) for text in ("0", "100")] == [Decimal(0), Decimal(100)]


@given(st.decimals(-(10**9), 10**9, places=3), st.sampled_from(["en_CA", "fr_CA", "en_US", "de_DE"]))
def test_shown_number_is_read_back(value: Decimal, locale: str) -> None:
    shown = format_number(value, locale=locale)
    fixed = format_number(value, locale=locale, decimals=3)

    assert parse_number(shown, locale=locale, field="quantity", decimals=3) == value
    assert parse_number(fixed, locale=locale, field="quantity", decimals=3) == value


@pytest.mark.parametrize(
    ("amount", "currency", "locale", "shown"),
    [
        ("-1234567.5", "CAD", "en_CA", "-$1,234,567.50"),
        ("1234567.5", "CAD", "fr_CA", f"1{NBSP}234{NBSP}567,50{NBSP}$"),
        ("1234.5", "EUR", "de_DE", f"1.234,50{NBSP}€"),
        ("1234.5", "EUR", "fr_FR", f"1{NBSP}234,50{NBSP}€"),
        ("1234", "JPY", "en_US", "¥1,234"),
        ("1.5", "USD", "en_US", "$1.50"),
        ("0.0125", "USD", "en_US", "$0.0125"),
        ("1234.56", "RSD", "de_DE", f"1.234,56{NBSP}RSD"),
    ],
)
def test_money_is_shown_by_locale(amount: str, currency: str, locale: str, shown: str) -> None:
    """By CLDR; RSD keeps its two ISO 4217 decimals where CLDR shows none."""
    assert format_money(Decimal(amount), currency=currency, locale=locale) == shown


def test_number_is_shown_half_up() -> None:
    shown = [format_number(Decimal("2.345"), locale="en_CA", decimals=places) for places in (0, 2, 4)]

    assert shown == ["2", "2.35", "2.3450"]
    assert format_number(Decimal("1.23456789"), locale="en_CA") == "1.23456789"

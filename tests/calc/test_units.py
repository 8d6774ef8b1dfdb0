"""Unit conversion against NIST SP 811 and figures worked out from it."""

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.units import FACTS, Unit, convert, millilitres, show, units_like
from tests.reference.cases import Case, case, cases, ids

ALL = cases("units")
NAMES = {
    "foot*pound_force": Unit.POUND_FOOT,
    "inch*pound_force": Unit.POUND_INCH,
    "newton*meter": Unit.NEWTON_METRE,
    "psi": Unit.PSI,
    "kilopascal": Unit.KILOPASCAL,
    "bar": Unit.BAR,
    "horsepower": Unit.HORSEPOWER,
    "kilowatt": Unit.KILOWATT,
    "quart": Unit.US_QUART,
    "pint": Unit.US_PINT,
    "liter": Unit.LITRE,
    "milliliter": Unit.MILLILITRE,
    "fluid_ounce": Unit.US_FLUID_OUNCE,
    "imperial_gallon": Unit.IMPERIAL_GALLON,
    "imperial_quart": Unit.IMPERIAL_QUART,
    "pound": Unit.POUND,
    "kilogram": Unit.KILOGRAM,
    "inch": Unit.INCH,
    "millimeter": Unit.MILLIMETRE,
    "knot": Unit.KNOT,
    "mile/hour": Unit.MILE_PER_HOUR,
    "inch**3": Unit.CUBIC_INCH,
    "centimeter**3": Unit.CUBIC_CENTIMETRE,
}
# Units of the cases that are a plain multiple of one of ours, by definition of the prefix or the hour.
MULTIPLES = {
    "UNI-016": (Unit.KNOT, Unit.KILOMETRE_PER_HOUR, 1 / 3.6),
    "UNI-017": (Unit.MILE_PER_HOUR, Unit.KILOMETRE_PER_HOUR, 1 / 3.6),
    "UNI-022": (Unit.METRIC_HORSEPOWER, Unit.KILOWATT, 1000),
    # sixteen ounces are a pound
    "UNI-014": (Unit.POUND, Unit.KILOGRAM, 1000 / 16),
    # a standard atmosphere is 1.01325 bar by definition
    "UNI-025": (Unit.BAR, Unit.KILOPASCAL, 1.01325),
}
FACTORS = [one for one in ALL if "factor" in one.expected and one.id not in MULTIPLES]
TEMPERATURES = [one for one in ALL if one.topic == "Fahrenheit to Celsius"]
IN_THE_SHOP = [one for one in ALL if one.topic.startswith("shop-side")]
OLD_MANUAL = "UNI-031"
NBSP = "\u00a0"


def agrees(value: float, printed: str) -> bool:
    """Within half of the last printed digit; 735.49875 is printed as 735.4988."""
    last_digit = Decimal(printed).as_tuple().exponent
    return abs(Decimal(value) - Decimal(printed)) <= Decimal("0.5000001").scaleb(last_digit)


def test_every_published_case_is_replayed_or_listed() -> None:
    replayed = [*ids(FACTORS), *ids(TEMPERATURES), *ids(IN_THE_SHOP), *MULTIPLES, OLD_MANUAL]

    assert sorted(replayed) == sorted(ids(ALL))
    assert len(replayed) == 26


@pytest.mark.parametrize("case", FACTORS, ids=str)
def test_factor_is_that_of_sp_811(case: Case) -> None:
    from_unit, to_unit = NAMES[case.inputs["from"]], NAMES[case.inputs["to"]]

    factor = convert(1, from_unit=from_unit, to_unit=to_unit)

    assert agrees(factor, case.expected["factor"])


@pytest.mark.parametrize("id_", MULTIPLES)
def test_factor_of_a_multiple_is_that_of_sp_811(id_: str) -> None:
    from_unit, to_unit, times = MULTIPLES[id_]
    printed = case("units", id_).expected["factor"]

    factor = convert(1, from_unit=from_unit, to_unit=to_unit) * times

    assert agrees(factor, printed)


@pytest.mark.parametrize("case", TEMPERATURES, ids=str)
def test_temperature_has_its_offset(case: Case) -> None:
    celsius = convert(case.inputs["F"], from_unit=Unit.FAHRENHEIT, to_unit=Unit.CELSIUS)

    assert celsius == pytest.approx(case.expected["C"], abs=1e-9)


@pytest.mark.parametrize("case", IN_THE_SHOP, ids=str)
def test_figure_of_a_manual_is_converted(case: Case) -> None:
    from_unit, to_unit = NAMES[case.inputs["from"]], NAMES[case.inputs["to"]]

    value = convert(case.inputs["value"], from_unit=from_unit, to_unit=to_unit)

    assert f"{value:.{case.inputs['decimals']}f}" == case.expected["value"]


def test_old_manual_agrees_to_its_four_digits() -> None:
    found = {
        "gallon_m3": convert(1, from_unit=Unit.US_GALLON, to_unit=Unit.LITRE) / 1000,
        "horsepower_W": convert(1, from_unit=Unit.HORSEPOWER, to_unit=Unit.KILOWATT) * 1000,
        "pound_kg": convert(1, from_unit=Unit.POUND, to_unit=Unit.KILOGRAM),
        "quart_m3": convert(1, from_unit=Unit.US_QUART, to_unit=Unit.LITRE) / 1000,
    }

    assert {name: float(f"{value:.4g}") for name, value in found.items()} == case(
        "units", OLD_MANUAL
    ).expected


def test_inch_of_mercury_is_the_conventional_one() -> None:
    # NIST SP 811, appendix B.8, conventional: 3.386 389 E+03 Pa; from memory, and worked out:
    # 25.4 mm × 13.5951 g/cm³ × 9.80665 m/s² = 3386.38864 Pa
    assert agrees(convert(1, from_unit=Unit.INCH_OF_MERCURY, to_unit=Unit.KILOPASCAL), "3.386389")


def test_every_unit_has_its_facts() -> None:
    assert list(FACTS) == list(Unit)
    assert len({facts.symbol for facts in FACTS.values()}) == len(Unit)


@given(st.sampled_from(Unit), st.data(), st.floats(-1e6, 1e6))
def test_conversion_goes_there_and_back(unit: Unit, data: st.DataObject, value: float) -> None:
    other = data.draw(st.sampled_from(units_like(unit)))

    there = convert(value, from_unit=unit, to_unit=other)

    assert convert(there, from_unit=other, to_unit=unit) == pytest.approx(value, rel=1e-9, abs=1e-6)


def test_units_of_other_things_are_refused() -> None:
    with pytest.raises(BadInput) as refused:
        convert(5, from_unit=Unit.KILOPASCAL, to_unit=Unit.NEWTON_METRE)

    assert str(refused.value) == 'unit: "N·m" is not accepted. Give one of kPa, psi, bar, inHg.'


@pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("NaN"), Decimal("-Infinity")])
def test_quantity_must_be_finite(value: float | Decimal) -> None:
    with pytest.raises(BadInput):
        convert(value, from_unit=Unit.LITRE, to_unit=Unit.MILLILITRE)
    with pytest.raises(BadInput):
        show(value, unit=Unit.LITRE, locale="en_CA")


@pytest.mark.parametrize(
    ("value", "unit", "stored"),
    [
        ("0.42", Unit.LITRE, 420),
        ("0.5005", Unit.LITRE, 501),  # 500.49999999999994 in floats
        ("14.2", Unit.US_FLUID_OUNCE, 420),  # 29.57353 ml an ounce (NIST SP 811): 419.94
        ("1", Unit.US_QUART, 946),
        ("1", Unit.IMPERIAL_QUART, 1137),
        ("0", Unit.US_GALLON, 0),
    ],
)
def test_volume_is_stored_in_whole_millilitres(value: str, unit: Unit, stored: int) -> None:
    assert millilitres(Decimal(value), unit=unit) == stored


def test_volume_below_nil_is_refused() -> None:
    with pytest.raises(BadInput, match="a volume of 0 or more"):
        millilitres(Decimal("-0.1"), unit=Unit.LITRE)


@pytest.mark.parametrize("value", ["NaN", "Infinity"])
def test_volume_that_is_no_number_is_refused(value: str) -> None:
    with pytest.raises(BadInput, match="a finite number"):
        millilitres(Decimal(value), unit=Unit.LITRE)


def test_volume_is_refused_as_float_or_weight() -> None:
    with pytest.raises(TypeError):
        millilitres(0.5, unit=Unit.LITRE)
    with pytest.raises(BadInput):
        millilitres(Decimal(1), unit=Unit.KILOGRAM)


@pytest.mark.parametrize(
    ("value", "unit", "other", "locale", "shown"),
    [
        (Decimal("17"), Unit.POUND_FOOT, Unit.NEWTON_METRE, "en_CA", f"17{NBSP}lbf·ft (23{NBSP}N·m)"),
        (
            Decimal("14.25"),
            Unit.US_FLUID_OUNCE,
            Unit.MILLILITRE,
            "en_CA",
            f"14.25{NBSP}US fl oz (421{NBSP}ml)",
        ),
        (23.04999, Unit.NEWTON_METRE, None, "fr_CA", f"23{NBSP}N·m"),
        (36.8249, Unit.MILE_PER_HOUR, Unit.MILE_PER_HOUR, "de_DE", f"36,8{NBSP}mph"),
        (1234.5, Unit.LITRE, None, "fr_FR", f"1{NBSP}234,5{NBSP}l"),
        (-0.2, Unit.CELSIUS, None, "en_CA", f"0{NBSP}°C"),
        (Decimal("-40"), Unit.CELSIUS, Unit.FAHRENHEIT, "en_CA", f"-40{NBSP}°C (-40{NBSP}°F)"),
    ],
)
def test_quantity_is_shown_in_both_units(
    value: float | Decimal, unit: Unit, other: Unit | None, locale: str, shown: str
) -> None:
    assert show(value, unit=unit, other=other, locale=locale) == shown


def test_importing_units_leaves_pint_alone() -> None:
    script = "import sys, shopapp.calc.units; print('pint' in sys.modules)"

    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert done.stdout == "False\n"

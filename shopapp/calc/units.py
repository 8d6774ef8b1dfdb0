"""Quantities in the units of the shop and of manuals; factors are pint's, checked against NIST SP 811.

Measured quantities are floats for reading and showing; fluids are stored as whole millilitres.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from functools import cache
from math import isfinite
from typing import TYPE_CHECKING

from babel.numbers import format_decimal

from shopapp.calc.errors import BadInput

if TYPE_CHECKING:
    import pint

# A converted figure carries floating noise far below this many decimals.
NOISE_DECIMALS = 9


class Unit(StrEnum):
    """The units a shop, a manual or a catalogue uses; the values are stored."""

    MILLILITRE = "ml"
    LITRE = "l"
    US_FLUID_OUNCE = "us_fl_oz"
    US_PINT = "us_pt"
    US_QUART = "us_qt"
    US_GALLON = "us_gal"
    IMPERIAL_FLUID_OUNCE = "imp_fl_oz"
    IMPERIAL_QUART = "imp_qt"
    IMPERIAL_GALLON = "imp_gal"
    CUBIC_CENTIMETRE = "cm3"
    CUBIC_INCH = "in3"
    NEWTON_METRE = "n_m"
    POUND_FOOT = "lbf_ft"
    POUND_INCH = "lbf_in"
    KILOPASCAL = "kpa"
    PSI = "psi"
    BAR = "bar"
    INCH_OF_MERCURY = "in_hg"
    CELSIUS = "deg_c"
    FAHRENHEIT = "deg_f"
    KNOT = "kn"
    MILE_PER_HOUR = "mph"
    KILOMETRE_PER_HOUR = "km_h"
    KILOWATT = "kw"
    HORSEPOWER = "hp"
    METRIC_HORSEPOWER = "ps"
    MILLIMETRE = "mm"
    INCH = "in"
    KILOGRAM = "kg"
    POUND = "lb"


@dataclass(frozen=True, kw_only=True)
class UnitFacts:
    """What pint calls the unit, how it is written, and how many decimals a converted figure shows."""

    pint_name: str
    symbol: str
    decimals: int


# Decimals: common practice, no source.
FACTS = {
    Unit.MILLILITRE: UnitFacts(pint_name="milliliter", symbol="ml", decimals=0),
    Unit.LITRE: UnitFacts(pint_name="liter", symbol="l", decimals=2),
    Unit.US_FLUID_OUNCE: UnitFacts(pint_name="fluid_ounce", symbol="US fl oz", decimals=1),
    Unit.US_PINT: UnitFacts(pint_name="pint", symbol="US pt", decimals=2),
    Unit.US_QUART: UnitFacts(pint_name="quart", symbol="US qt", decimals=2),
    Unit.US_GALLON: UnitFacts(pint_name="gallon", symbol="US gal", decimals=2),
    Unit.IMPERIAL_FLUID_OUNCE: UnitFacts(pint_name="imperial_fluid_ounce", symbol="imp fl oz", decimals=1),
    Unit.IMPERIAL_QUART: UnitFacts(pint_name="imperial_quart", symbol="imp qt", decimals=2),
    Unit.IMPERIAL_GALLON: UnitFacts(pint_name="imperial_gallon", symbol="imp gal", decimals=2),
    Unit.CUBIC_CENTIMETRE: UnitFacts(pint_name="centimeter**3", symbol="cm³", decimals=0),
    Unit.CUBIC_INCH: UnitFacts(pint_name="inch**3", symbol="in³", decimals=1),
    Unit.NEWTON_METRE: UnitFacts(pint_name="newton*meter", symbol="N·m", decimals=1),
    Unit.POUND_FOOT: UnitFacts(pint_name="pound_force*foot", symbol="lbf·ft", decimals=1),
    Unit.POUND_INCH: UnitFacts(pint_name="pound_force*inch", symbol="lbf·in", decimals=0),
    Unit.KILOPASCAL: UnitFacts(pint_name="kilopascal", symbol="kPa", decimals=0),
    Unit.PSI: UnitFacts(pint_name="psi", symbol="psi", decimals=1),
    Unit.BAR: UnitFacts(pint_name="bar", symbol="bar", decimals=2),
    # conventional, 3,386.389 Pa (NIST SP 811, appendix B.8): 25.4 mm of 13.5951 g/cm³ at 9.80665 m/s²
    Unit.INCH_OF_MERCURY: UnitFacts(pint_name="inch_Hg", symbol="inHg", decimals=1),
    Unit.CELSIUS: UnitFacts(pint_name="degree_Celsius", symbol="°C", decimals=0),
    Unit.FAHRENHEIT: UnitFacts(pint_name="degree_Fahrenheit", symbol="°F", decimals=0),
    Unit.KNOT: UnitFacts(pint_name="knot", symbol="kn", decimals=1),
    Unit.MILE_PER_HOUR: UnitFacts(pint_name="mile/hour", symbol="mph", decimals=1),
    Unit.KILOMETRE_PER_HOUR: UnitFacts(pint_name="kilometer/hour", symbol="km/h", decimals=1),
    Unit.KILOWATT: UnitFacts(pint_name="kilowatt", symbol="kW", decimals=1),
    Unit.HORSEPOWER: UnitFacts(pint_name="horsepower", symbol="hp", decimals=1),
    Unit.METRIC_HORSEPOWER: UnitFacts(pint_name="metric_horsepower", symbol="PS", decimals=1),
    Unit.MILLIMETRE: UnitFacts(pint_name="millimeter", symbol="mm", decimals=2),
    Unit.INCH: UnitFacts(pint_name="inch", symbol="in", decimals=3),
    Unit.KILOGRAM: UnitFacts(pint_name="kilogram", symbol="kg", decimals=1),
    Unit.POUND: UnitFacts(pint_name="pound", symbol="lb", decimals=1),
}


@cache
def _registry() -> "pint.UnitRegistry":
    # pint reads a long table of units when it is imported; most pages never convert anything.
    import pint

    return pint.UnitRegistry()


def convert(value: float | Decimal, *, from_unit: Unit, to_unit: Unit) -> float:
    """The same quantity in another unit, not rounded. Units of different things are refused."""
    number = float(value)
    if not isfinite(number):
        raise BadInput("quantity", value, "a finite number")
    fitting = units_like(from_unit)
    if to_unit not in fitting:
        raise BadInput(
            "unit", FACTS[to_unit].symbol, "one of " + ", ".join(FACTS[unit].symbol for unit in fitting)
        )
    quantity = _registry().Quantity(number, FACTS[from_unit].pint_name)
    return float(quantity.to(FACTS[to_unit].pint_name).magnitude)


@cache
def units_like(unit: Unit) -> tuple[Unit, ...]:
    """Every unit that measures the same thing, the unit itself included; for choices on a form."""
    dimensions = {one: _registry().get_dimensionality(FACTS[one].pint_name) for one in Unit}
    return tuple(one for one in Unit if dimensions[one] == dimensions[unit])


def millilitres(value: Decimal, *, unit: Unit) -> int:
    """A volume as stored: whole millilitres, half up. Negative volumes and other units are refused."""
    if not isinstance(value, Decimal):
        raise TypeError(f"volume: a measured volume is Decimal, never {type(value).__name__}")
    exact = convert(value, from_unit=unit, to_unit=Unit.MILLILITRE)
    if exact < 0:
        raise BadInput("volume", value, "a volume of 0 or more")
    return int(_without_noise(exact).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def show(value: float | Decimal, *, unit: Unit, other: Unit | None = None, locale: str) -> str:
    """The quantity with its unit, and in the other unit after it: 23 N·m (17 lbf·ft).

    A Decimal is shown as it was given, since the maker wrote it so; floats and converted figures are rounded
    to the decimals of their unit.
    """
    shown = _with_symbol(value, unit=unit, locale=locale)
    if other is None or other == unit:
        return shown
    converted = convert(value, from_unit=unit, to_unit=other)
    return f"{shown} ({_with_symbol(converted, unit=other, locale=locale)})"


def _with_symbol(value: float | Decimal, *, unit: Unit, locale: str) -> str:
    number = value if isinstance(value, Decimal) else _rounded(value, decimals=FACTS[unit].decimals)
    if not number.is_finite():
        raise BadInput("quantity", value, "a finite number")
    written = format_decimal(number, locale=locale, decimal_quantization=False).replace("\u202f", "\u00a0")
    # A no-break space keeps the figure and its unit on one line.
    return f"{written}\u00a0{FACTS[unit].symbol}"


def _rounded(value: float, *, decimals: int) -> Decimal:
    if not isfinite(value):
        raise BadInput("quantity", value, "a finite number")
    rounded = _without_noise(value).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    return rounded.copy_abs() if rounded.is_zero() else rounded


def _without_noise(value: float) -> Decimal:
    # 0.5005 l is 500.49999999999994 ml in floats; the noise must not decide which way a half goes.
    return Decimal(repr(round(value, NOISE_DECIMALS)))

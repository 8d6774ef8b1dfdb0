"""Figures of the spec book and of readings as people read them: with their unit, and in the other one."""

from decimal import Decimal

from shopapp.calc.money import format_number, from_e4
from shopapp.calc.units import Unit, show

E4 = 10_000
ML_A_LITRE = 1_000
# what the other kind of gauge, wrench or jug shows
OTHER = {
    **dict.fromkeys((Unit.NEWTON_METRE,), Unit.POUND_FOOT),
    **dict.fromkeys((Unit.POUND_FOOT, Unit.POUND_INCH), Unit.NEWTON_METRE),
    **dict.fromkeys((Unit.KILOPASCAL, Unit.BAR), Unit.PSI),
    **dict.fromkeys((Unit.PSI, Unit.INCH_OF_MERCURY), Unit.KILOPASCAL),
    Unit.CELSIUS: Unit.FAHRENHEIT,
    Unit.FAHRENHEIT: Unit.CELSIUS,
    Unit.CUBIC_CENTIMETRE: Unit.CUBIC_INCH,
    Unit.CUBIC_INCH: Unit.CUBIC_CENTIMETRE,
    Unit.MILLILITRE: Unit.US_FLUID_OUNCE,
    Unit.LITRE: Unit.US_QUART,
    **dict.fromkeys((Unit.US_FLUID_OUNCE, Unit.US_PINT, Unit.IMPERIAL_FLUID_OUNCE), Unit.MILLILITRE),
    **dict.fromkeys((Unit.US_QUART, Unit.US_GALLON, Unit.IMPERIAL_QUART, Unit.IMPERIAL_GALLON), Unit.LITRE),
}


def figure(e4: int) -> Decimal:
    """A stored figure without noughts at its end.

    >>> figure(230_000), figure(18_500)
    (Decimal('23'), Decimal('1.85'))
    """
    value = from_e4(e4)
    return value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()


def plain(e4: int, *, locale: str) -> str:
    """A stored figure in the shop's way of writing numbers."""
    return format_number(figure(e4), locale=locale)


def with_unit(e4: int, *, unit: str, locale: str) -> str:
    """A figure with its unit, and in the other unit after it; without a unit alone."""
    if not unit:
        return plain(e4, locale=locale)
    own = Unit(unit)
    return show(figure(e4), unit=own, other=OTHER.get(own), locale=locale)


def volume(ml: int, *, locale: str, is_imperial: bool = False) -> str:
    """An amount as it is logged, in litres from one litre on, and in the other jug's unit after it."""
    if abs(ml) < ML_A_LITRE:
        other = Unit.IMPERIAL_FLUID_OUNCE if is_imperial else OTHER[Unit.MILLILITRE]
        return show(Decimal(ml), unit=Unit.MILLILITRE, other=other, locale=locale)
    litres = Decimal(ml) / ML_A_LITRE
    other = Unit.IMPERIAL_QUART if is_imperial else OTHER[Unit.LITRE]
    return show(litres.normalize(), unit=Unit.LITRE, other=other, locale=locale)

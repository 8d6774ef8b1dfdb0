"""Figures with their unit, and in the unit of the other gauge, wrench or jug."""

from decimal import Decimal

import pytest

from shopapp.calc.units import Unit, convert
from shopapp.calc.verdicts import Kind, units_of
from shopapp.queries.figures import OTHER, figure, plain, volume, with_unit


@pytest.mark.parametrize(
    ("e4", "value"),
    [(0, "0"), (230_000, "23"), (18_500, "1.85"), (1, "0.0001"), (-55_000, "-5.5"), (10_000_000, "1000")],
)
def test_stored_figure_has_no_noughts_at_its_end(e4: int, value: str) -> None:
    assert str(figure(e4)) == value
    assert figure(e4) == Decimal(value)


def test_figure_is_written_as_the_shop_writes_numbers() -> None:
    assert (plain(12_345_000, locale="en"), plain(12_345_000, locale="de")) == ("1,234.5", "1.234,5")


@pytest.mark.parametrize(
    ("e4", "unit", "words"),
    [
        # 80 °C are 176 °F and 100 kPa are 14.5 psi: NIST SP 811, B.8
        (800_000, "deg_c", "80\u00a0°C (176\u00a0°F)"),
        (1_760_000, "deg_f", "176\u00a0°F (80\u00a0°C)"),
        (1_000_000, "kpa", "100\u00a0kPa (14.5\u00a0psi)"),
        (123_000, "", "12.3"),
    ],
)
def test_figure_stands_in_both_units(e4: int, unit: str, words: str) -> None:
    assert with_unit(e4, unit=unit, locale="en") == words


def test_other_unit_measures_the_same_thing() -> None:
    for own, other in OTHER.items():
        assert own != other
        assert convert(1.0, from_unit=own, to_unit=other) != 0 or own in (Unit.CELSIUS, Unit.FAHRENHEIT)


def test_every_unit_of_a_reading_has_another() -> None:
    units = {unit for kind in Kind for unit in units_of(kind) if unit is not None}

    assert units - set(OTHER) == set()


@pytest.mark.parametrize(
    ("ml", "said"),
    [
        # 29.5735 ml a US fluid ounce, 946.353 ml a US quart (NIST SP 811)
        (820, "820\xa0ml (27.7\xa0US fl oz)"),
        (-400, "-400\xa0ml (-13.5\xa0US fl oz)"),
        (1_000, "1\xa0l (1.06\xa0US qt)"),
        (60_000, "60\xa0l (63.4\xa0US qt)"),
        (4_605, "4.605\xa0l (4.87\xa0US qt)"),
    ],
)
def test_volume_is_told_in_litres_from_one_on(ml: int, said: str) -> None:
    assert volume(ml, locale="en") == said

"""Whether a bulletin is for a serial: told where it can be told, and otherwise for a person to look at."""

import pytest

from shopapp.calc.serials import InRange, in_range


@pytest.mark.parametrize(
    ("serial", "first", "last", "where"),
    [
        ("PM60-01250", "PM60-01000", "PM60-01999", InRange.YES),
        ("PM60-01000", "PM60-01000", "PM60-01999", InRange.YES),
        ("PM60-01999", "PM60-01000", "PM60-01999", InRange.YES),
        ("pm60 01250", "PM60-01000", "PM60-01999", InRange.YES),
        ("PM60-2000", "PM60-01000", "PM60-01999", InRange.NO),
        ("PM60-00999", "PM60-01000", "", InRange.NO),
        ("PM60-00999", "", "PM60-01999", InRange.YES),
        ("PM60-01250", "", "", InRange.YES),
        ("", "", "", InRange.YES),
        # another series, no number, or letters run into the number: a person looks
        ("PM40-01250", "PM60-01000", "PM60-01999", InRange.LOOK),
        ("PM6001250", "PM60-01000", "PM60-01999", InRange.LOOK),
        ("", "PM60-01000", "PM60-01999", InRange.LOOK),
        ("PM60-01250", "first of 2019", "PM60-01999", InRange.LOOK),
        ("PM60-01250A", "PM60-01000", "PM60-01999", InRange.LOOK),
    ],
)
def test_serial_is_placed_only_where_it_can_be(serial: str, first: str, last: str, where: InRange) -> None:
    assert in_range(serial, first=first, last=last) == where

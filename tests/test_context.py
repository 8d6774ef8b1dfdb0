"""Days and moments in the shop's own time and language."""

from datetime import UTC, date, datetime

import pytest

from shopapp.context import display_for
from shopapp.models import Shop


@pytest.mark.parametrize(
    ("locale", "expected"),
    [("en_CA", "9 Dec 2026"), ("fr_CA", "9 déc. 2026"), ("de_DE", "9 Dez. 2026")],
)
def test_day_cannot_be_misread(locale: str, expected: str) -> None:
    # month as a word: CLDR abbreviations as Babel has them
    display = display_for(Shop(name="A", currency="CAD", locale=locale, time_zone="America/Vancouver"))

    assert display.day(date(2026, 12, 9)) == expected


def test_moment_is_told_in_the_shops_time() -> None:
    display = display_for(Shop(name="A", currency="CAD", locale="en_CA", time_zone="America/Vancouver"))

    # Pacific daylight time is UTC−7 in July (IANA time zone database)
    assert display.moment(datetime(2026, 7, 1, 2, 30, tzinfo=UTC)) == "30 Jun 2026, 19:30"


def test_display_has_plain_choices_before_founding() -> None:
    assert display_for(None).shop_name == "Shopapp"

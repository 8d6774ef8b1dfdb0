"""Verdict first, then what else a reading says, with figures as people write them."""

import pytest

from shopapp.calc.limits import Verdict
from shopapp.calc.verdicts import Finding, Judged, Said
from shopapp.queries.reading_words import LONGEST, SENTENCES, verdict_words


def words(*said: Said, verdict: Verdict = Verdict.IN_LIMITS, locale: str = "en") -> str:
    return verdict_words(Judged(verdict=verdict, figures={}, said=said), unit="kPa", locale=locale)


def test_every_finding_has_a_sentence_without_a_hole() -> None:
    assert set(SENTENCES) == set(Finding)
    for finding in Finding:
        told = words(Said(finding=finding, figure=2.5, cylinder=3))
        assert ("{" in told, told.startswith("in limits; ")) == (False, True)


@pytest.mark.parametrize(
    ("figure", "shown"),
    [(5.0, "5"), (5.04, "5"), (17.14, "17.1"), (0.96, "1"), (0.04, "0"), (1234.56, "1,234.6")],
)
def test_figure_that_is_as_good_as_whole_is_shown_whole(figure: float, shown: str) -> None:
    assert words(Said(finding=Finding.SPREAD, figure=figure)) == f"in limits; cylinders {shown} % apart"


def test_words_are_in_the_shops_numbers_and_the_readings_unit() -> None:
    told = words(Said(finding=Finding.LOSS_A_MINUTE, figure=0.25), verdict=Verdict.OUT_OF_LIMITS, locale="de")

    assert told == "out of limits; loses 0,25 kPa a minute"


def test_twelve_bad_cylinders_fit_the_column() -> None:
    said = [Said(finding=Finding.RINGS, cylinder=number) for number in range(1, 13)]
    said += [Said(finding=Finding.LEAK_OVERHAUL, figure=88.8, cylinder=number) for number in range(1, 13)]

    assert len(words(*said)) <= LONGEST

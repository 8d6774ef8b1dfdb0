"""Hull numbers against 33 CFR 181.25 and public explanations of the older forms."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.errors import BadInput
from shopapp.calc.hull_id import HullId, HullIdFormat, read_hull_id
from tests.reference.cases import Case, cases, ids

ALL = cases("hull_id")
SOUND = [one for one in ALL if one.expected["valid"] is True]
FAULTY = [one for one in ALL if one.expected["valid"] is False]
FOLDED = [one for one in ALL if one.id == "HIN-034"]
TO_REVIEW = [one for one in ALL if one.id == "HIN-035"]
FORMATS = {
    "current": HullIdFormat.CURRENT,
    "straight year": HullIdFormat.STRAIGHT_YEAR,
    "model year": HullIdFormat.MODEL_YEAR,
    "WIN": HullIdFormat.CURRENT,
}
MONTH_NAMES = {"August": 8, "December": 12, "January": 1}
SERIAL = "the serial has letters and digits, never I, O or Q"
# What each faulty case is told; the reason of the case names the same character.
TOLD = {
    "HIN-017": "It has 11 characters; a hull number has 12.",
    "HIN-019": f'Character 6 is "I"; {SERIAL}. Perhaps 1?',
    "HIN-020": f'Character 4 is "O"; {SERIAL}. Perhaps 0?',
    "HIN-022": 'Character 9 is "N"; the month is a letter from A (January) to L (December).',
    "HIN-023": 'Character 10 is "X"; here stands the last digit of the year.',
    "HIN-025": "It is written with spaces, hyphens or slashes; the number itself has none.",
    "HIN-026": "It is written with spaces, hyphens or slashes; the number itself has none.",
    "HIN-028": "Characters 9 and 10 are 13; the month is 01 to 12.",
    "HIN-029": "Characters 9 and 10 are 00; the month is 01 to 12.",
    "HIN-031": 'Character 11 is "A"; after M stand two digits of the model year.',
    "HIN-032": 'Character 3 is "#"; the maker\'s code has letters.',
}


def printed_parts(expected: dict[str, Any]) -> dict[str, Any]:
    """What the case says, in our words: full format names and months as numbers."""
    parts = {name: value for name, value in expected.items() if name not in {"valid", "reason"}}
    if "format" in parts:
        parts["format"] = next(ours for name, ours in FORMATS.items() if parts["format"].startswith(name))
    parts["month"] = MONTH_NAMES.get(parts.get("month"), parts.get("month"))
    return {name: value for name, value in parts.items() if value is not None}


def read_parts(hull: HullId, names: set[str], *, two_digits: bool) -> dict[str, Any]:
    """The same parts as read; the cases of the current form give two digits of the model year."""
    model_year = hull.model_year or 0
    everything = {
        "format": hull.format,
        "mic": hull.mic,
        "serial": hull.serial,
        "month": hull.month,
        "year_digit": hull.year_digit,
        "year": hull.year,
        "calendar_year": hull.year,
        "model_year": model_year % 100 if two_digits else model_year,
        "country": hull.country,
        "core": hull.core,
    }
    return {name: everything[name] for name in names}


def test_every_published_case_is_replayed() -> None:
    replayed = ids([*SOUND, *FAULTY, *FOLDED, *TO_REVIEW])

    assert sorted(replayed) == sorted(ids(ALL))
    assert sorted(ids(FAULTY)) == sorted(TOLD)


@pytest.mark.parametrize("case", SOUND, ids=str)
def test_sound_number_is_taken_apart(case: Case) -> None:
    expected = printed_parts(case.expected)

    hull = read_hull_id(case.inputs["hin"])

    two_digits = expected.get("model_year", 0) < 100
    assert (hull.is_valid, hull.faults) == (True, ())
    assert read_parts(hull, set(expected), two_digits=two_digits) == expected


@pytest.mark.parametrize("case", FAULTY, ids=str)
def test_faulty_number_names_its_character(case: Case) -> None:
    hull = read_hull_id(case.inputs["hin"])

    assert not hull.is_valid
    assert hull.faults == hull.remarks == (TOLD[case.id],)


@pytest.mark.parametrize("case", FOLDED, ids=str)
def test_small_letters_become_capitals(case: Case) -> None:
    hull = read_hull_id(case.inputs["hin"])

    assert (hull.text, hull.is_valid) == (case.expected["normalised"], True)


@pytest.mark.parametrize("case", TO_REVIEW, ids=str)
def test_year_digit_is_compared_with_model_year(case: Case) -> None:
    """The reason of the case: 15 fits the digit 5, 18 would not."""
    fits, does_not = (read_hull_id(f"{case.inputs['hin'][:10]}{year}") for year in ("15", "18"))

    assert (fits.is_valid, fits.remarks, fits.year) == (True, (), 2015)
    assert (does_not.is_valid, does_not.year) == (True, None)
    assert does_not.remarks == (
        "Year digit 5 does not fit model year 2018: it is usually that year or the one before.",
    )


def test_spaces_are_told_and_the_rest_is_read() -> None:
    hull = read_hull_id(" abc 12345 a5 95 ")

    assert (hull.text, hull.mic, hull.serial, hull.model_year) == ("ABC12345A595", "ABC", "12345", 1995)


@pytest.mark.parametrize(
    ("letter", "month", "year"), [("A", 8, 1979), ("E", 12, 1979), ("F", 1, 1980), ("L", 7, 1980)]
)
def test_model_year_counts_from_august(letter: str, month: int, year: int) -> None:
    hull = read_hull_id(f"ABC12345M80{letter}")

    assert (hull.month, hull.year, hull.model_year) == (month, year, 1980)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("ABC123451299", "Characters 11 and 12 are 99; this form was used for the years 72 to 84 only."),
        ("ABC12345M99A", "Characters 10 and 11 are 99; this form was used for the years 72 to 84 only."),
        ("ABC12345M75X", 'Character 12 is "X"; the month is a letter from A (August) to L (July).'),
        ("ABC1234512X5", 'Character 11 is "X"; month and year are four digits, such as 1275.'),
        ("ABC12345A5", "It has 10 characters; a hull number has 12."),
        ("A", "It has 1 character; a hull number has 12."),
        ("ABC12345ß595", 'Character 9 is "ß"; the month is a letter from A (January) to L (December).'),
        ("ABC1Q345A595", f'Character 5 is "Q"; {SERIAL}. Perhaps 0?'),
        ("ABC12345A59٥", 'Character 12 is "٥"; the model year has two digits.'),
    ],
)
def test_odd_number_is_told_and_not_blocked(text: str, told: str) -> None:
    assert read_hull_id(text).faults == (told,)


@pytest.mark.parametrize(("digits", "model_year"), [("84", 1984), ("99", 1999), ("00", 2000), ("83", 2083)])
def test_century_follows_start_of_current_form(digits: str, model_year: int) -> None:
    """33 CFR 181.25 in this form is in force since August 1984."""
    assert read_hull_id(f"ABC12345A3{digits}").model_year == model_year


def test_digit_in_makers_code_is_only_a_doubt() -> None:
    hull = read_hull_id("A8C12345A595")

    assert hull.is_valid
    assert hull.remarks == ('Character 2 is "8"; a maker\'s code usually has letters only.',)


def test_several_wrong_characters_are_all_told() -> None:
    hull = read_hull_id("US-AB#1O345N5X5")

    assert hull.country == "US"
    assert [remark[:12] for remark in hull.remarks] == [f"Character {place:<2}" for place in (3, 5, 9, 11)]


@pytest.mark.parametrize("text", ["", "   ", "---", "\t\u00a0"])
def test_empty_number_is_refused(text: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_hull_id(text)

    assert refused.value.accepted == "the 12 characters on the right of the transom"


@given(st.text(min_size=1, max_size=20).filter(lambda text: any(char.isalnum() for char in text)))
def test_no_text_ever_raises(text: str) -> None:
    hull = read_hull_id(text)

    assert set(hull.faults) <= set(hull.remarks)


@given(st.text(alphabet="ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", min_size=12, max_size=12))
def test_valid_number_has_its_date(text: str) -> None:
    hull = read_hull_id(text)

    has_date = hull.month is not None and (hull.model_year is not None or hull.year is not None)
    assert has_date or not hull.is_valid
    assert hull.mic + hull.serial == text[:8]

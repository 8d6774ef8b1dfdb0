"""Reads a hull number and says which character is wrong; it warns and never blocks.

Source: 33 CFR 181.25 (current form, since 1984-08-01); the two older forms of 1972 to 1984 and the country
prefix from public explanations of hull number types.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from shopapp.calc.errors import BadInput

LETTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
DIGITS = frozenset("0123456789")
SERIAL = (LETTERS | DIGITS) - frozenset("IOQ")
MONTHS = "ABCDEFGHIJKL"
# The model-year form starts its year in August.
MODEL_YEAR_MONTHS = (8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6, 7)
LOOK_ALIKES = {"I": "1", "O": "0", "Q": "0"}
SEPARATORS = frozenset(" \t\u00a0\u202f-\u2010\u2011\u2012\u2013\u2014/.")
LENGTH = 12
PREFIX = 2
# The current form is in force since August 1984, so two digits below 84 are of this century.
CURRENT_SINCE = 84
# The older forms were in use from November 1972 to July 1984.
OLD_YEARS = range(72, 85)


class HullIdFormat(StrEnum):
    """Which of the three forms the number has."""

    CURRENT = "current"
    STRAIGHT_YEAR = "straight year"
    MODEL_YEAR = "model year"
    UNKNOWN = "unknown"


@dataclass(frozen=True, kw_only=True)
class HullId:
    """What a hull number says. Parts that cannot be read are empty or None.

    `text` is in capitals without separators and with the country prefix, if any; years have four digits;
    `year` and `month` are those of manufacture or certification. `faults` are against the rule; `remarks`
    are the faults and whatever else is worth a second look.
    """

    text: str
    format: HullIdFormat = HullIdFormat.UNKNOWN
    country: str = ""
    mic: str = ""
    serial: str = ""
    month: int | None = None
    year_digit: int | None = None
    year: int | None = None
    model_year: int | None = None
    faults: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def core(self) -> str:
        """The number without its country prefix."""
        return self.text[PREFIX:] if self.country else self.text

    @property
    def is_valid(self) -> bool:
        """Whether the number follows the rule; a number to look at twice may still be valid."""
        return not self.faults


@dataclass(frozen=True, kw_only=True)
class _Dated:
    """What the last four characters say."""

    format: HullIdFormat
    month: int | None = None
    year_digit: int | None = None
    year: int | None = None
    model_year: int | None = None
    faults: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def read_hull_id(text: str) -> HullId:
    """Reads any of the three forms, with or without a country prefix (US-…, or two letters in front).

    Never raises for an odd number: what is wrong stands in `faults` and `remarks`. Only an empty text is
    refused.
    """
    plain = "".join(char for char in _capitals(text) if char not in SEPARATORS)
    if not plain:
        raise BadInput("hull number", text, "the 12 characters on the right of the transom")
    country, core = _split_country(plain)
    written = tuple(_separator_faults(text.strip()))
    if len(core) != LENGTH:
        fault = f"It has {_count(len(core))}; a hull number has {LENGTH}."
        return HullId(text=plain, country=country, faults=(*written, fault), remarks=(*written, fault))
    dated = _read_date(core)
    faults = (*written, *_maker_faults(core), *_serial_faults(core), *dated.faults)
    return HullId(
        text=plain,
        format=dated.format,
        country=country,
        mic=core[:3],
        serial=core[3:8],
        month=dated.month,
        year_digit=dated.year_digit,
        year=dated.year,
        model_year=dated.model_year,
        faults=faults,
        remarks=(*faults, *_maker_doubts(core), *dated.doubts),
    )


def _capitals(text: str) -> str:
    # Only a to z: upper() would turn ß into two characters and move all the places.
    return "".join(char.upper() if char.isascii() else char for char in text)


def _count(length: int) -> str:
    return "1 character" if length == 1 else f"{length} characters"


def _split_country(plain: str) -> tuple[str, str]:
    has_prefix = len(plain) == PREFIX + LENGTH and LETTERS.issuperset(plain[:PREFIX])
    return (plain[:PREFIX], plain[PREFIX:]) if has_prefix else ("", plain)


def _separator_faults(written: str) -> Iterator[str]:
    """33 CFR 181.25: uninterrupted by slashes, hyphens or spaces. The hyphen after the country is meant."""
    inside = written
    if len(written) > PREFIX and written[PREFIX] == "-" and LETTERS.issuperset(_capitals(written[:PREFIX])):
        inside = written[:PREFIX] + written[PREFIX + 1 :]
    if SEPARATORS.intersection(inside):
        yield "It is written with spaces, hyphens or slashes; the number itself has none."


def _wrong(place: int, *, core: str, accepted: str) -> str:
    char = core[place - 1]
    hint = f" Perhaps {LOOK_ALIKES[char]}?" if char in LOOK_ALIKES else ""
    return f'Character {place} is "{char}"; {accepted}.{hint}'


def _maker_faults(core: str) -> Iterator[str]:
    for place in (1, 2, 3):
        if core[place - 1] not in LETTERS | DIGITS:
            yield _wrong(place, core=core, accepted="the maker's code has letters")


def _maker_doubts(core: str) -> Iterator[str]:
    """A digit in the maker's code is unusual; from memory, the rule says only "three characters"."""
    for place in (1, 2, 3):
        if core[place - 1] in DIGITS:
            yield f'Character {place} is "{core[place - 1]}"; a maker\'s code usually has letters only.'


def _serial_faults(core: str) -> Iterator[str]:
    for place in range(4, 9):
        if core[place - 1] not in SERIAL:
            accepted = "the serial has letters and digits, never I, O or Q"
            yield _wrong(place, core=core, accepted=accepted)


def _read_date(core: str) -> _Dated:
    """The ninth character tells the form: a digit, an M, or a month letter."""
    if core[8] in DIGITS:
        return _read_straight_year(core)
    if core[8] == "M":
        return _read_model_year(core)
    return _read_current(core)


def _digit_faults(core: str, *, places: tuple[int, ...], accepted: str) -> tuple[str, ...]:
    return tuple(
        _wrong(place, core=core, accepted=accepted) for place in places if core[place - 1] not in DIGITS
    )


def _read_current(core: str) -> _Dated:
    faults: list[str] = []
    if core[8] not in MONTHS:
        accepted = "the month is a letter from A (January) to L (December)"
        faults.append(_wrong(9, core=core, accepted=accepted))
    faults += _digit_faults(core, places=(10,), accepted="here stands the last digit of the year")
    faults += _digit_faults(core, places=(11, 12), accepted="the model year has two digits")
    if faults:
        return _Dated(format=HullIdFormat.CURRENT, faults=tuple(faults))
    digit, model_year = int(core[9]), _full_year(int(core[10:]))
    year = _year_of_manufacture(digit, model_year=model_year)
    doubt = (
        f"Year digit {digit} does not fit model year {model_year}: it is usually that year or the one before."
    )
    return _Dated(
        format=HullIdFormat.CURRENT,
        month=MONTHS.index(core[8]) + 1,
        year_digit=digit,
        year=year,
        model_year=model_year,
        doubts=() if year else (doubt,),
    )


def _full_year(two_digits: int) -> int:
    return two_digits + (1900 if two_digits >= CURRENT_SINCE else 2000)


def _year_of_manufacture(digit: int, *, model_year: int) -> int | None:
    """The model year or the year before it, whichever ends in the digit (common practice)."""
    fitting = [year for year in (model_year, model_year - 1) if year % 10 == digit]
    return fitting[0] if fitting else None


def _read_straight_year(core: str) -> _Dated:
    """Month and year as four digits: 1275 is December 1975."""
    faults = _digit_faults(core, places=(10, 11, 12), accepted="month and year are four digits, such as 1275")
    if faults:
        return _Dated(format=HullIdFormat.STRAIGHT_YEAR, faults=faults)
    month, year = int(core[8:10]), int(core[10:])
    return _Dated(
        format=HullIdFormat.STRAIGHT_YEAR,
        month=month if 1 <= month <= 12 else None,
        year=1900 + year if year in OLD_YEARS else None,
        faults=(*_month_faults(month), *_old_year_faults(year)),
    )


def _month_faults(month: int) -> Iterator[str]:
    if not 1 <= month <= 12:
        yield f"Characters 9 and 10 are {month:02}; the month is 01 to 12."


def _old_year_faults(year: int) -> Iterator[str]:
    if year not in OLD_YEARS:
        yield f"Characters 11 and 12 are {year:02}; this form was used for the years 72 to 84 only."


def _read_model_year(core: str) -> _Dated:
    """M, two digits of the model year and a month letter that counts from August: M75A is August 1974."""
    faults = _digit_faults(core, places=(10, 11), accepted="after M stand two digits of the model year")
    if core[11] not in MONTHS:
        accepted = "the month is a letter from A (August) to L (July)"
        faults = (*faults, _wrong(12, core=core, accepted=accepted))
    if faults:
        return _Dated(format=HullIdFormat.MODEL_YEAR, faults=faults)
    two_digits, month = int(core[9:11]), MODEL_YEAR_MONTHS[MONTHS.index(core[11])]
    if two_digits not in OLD_YEARS:
        fault = f"Characters 10 and 11 are {two_digits:02}; this form was used for the years 72 to 84 only."
        return _Dated(format=HullIdFormat.MODEL_YEAR, month=month, faults=(fault,))
    model_year = 1900 + two_digits
    year = model_year - 1 if month >= MODEL_YEAR_MONTHS[0] else model_year
    return _Dated(format=HullIdFormat.MODEL_YEAR, month=month, year=year, model_year=model_year)

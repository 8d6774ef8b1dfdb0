"""Boats in words, their hull numbers and owners."""

from datetime import date

import pytest

from shopapp.models import Vessel
from shopapp.queries.vessels import HullReading, boat_line, boat_words, hull_reading, owners_of
from tests.factories import CustomerFactory, VesselFactory


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"name": "Kittiwake", "make": "Osprey"}, "Kittiwake"),
        ({"make": "Osprey", "model": "17"}, "Osprey 17"),
        ({"model": "17"}, "17"),
        ({}, "boat without a name"),
    ],
)
def test_boat_words_say_what_is_known(fields: dict[str, str], words: str) -> None:
    said = boat_words(Vessel(**fields))

    assert said == words


@pytest.mark.parametrize(
    ("name", "make", "model", "line"),
    [
        ("Kittiwake", "Shoal", "17", "Kittiwake (Shoal 17)"),
        ("Kittiwake", "", "", "Kittiwake"),
        ("", "Shoal", "", "Shoal"),
        ("", "", "", "boat without a name"),
    ],
)
def test_boat_line_names_what_is_known(name: str, make: str, model: str, line: str) -> None:
    assert boat_line(Vessel(name=name, make=make, model=model)) == line


@pytest.mark.parametrize("text", ["", "  ", "-", " / . \u00a0"])
def test_empty_hull_number_says_nothing(text: str) -> None:
    assert hull_reading(text) is None


# 33 CFR 181.25: three letters of the maker, five of the serial, month and year made, model year
@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("ABC12345D494", HullReading(says="maker's code ABC, built 1994, model year 1994", remarks=())),
        (
            "ABC1234",
            HullReading(says="", remarks=("It has 7 characters; a hull number has 12.",)),
        ),
        (
            "ABC12I45D494",
            HullReading(
                says="built 1994, model year 1994",
                remarks=(
                    'Character 6 is "I"; the serial has letters and digits, never I, O or Q. Perhaps 1?',
                ),
            ),
        ),
    ],
)
def test_hull_reading_remarks_and_never_refuses(text: str, reading: HullReading) -> None:
    assert hull_reading(text) == reading


@pytest.mark.django_db
def test_owners_come_newest_first() -> None:
    vessel, buyer = VesselFactory(owner=CustomerFactory(name="Anna Berg")), CustomerFactory(name="Bo Holm")
    vessel.ownerships.update(until_date=date(2026, 5, 1))
    vessel.ownerships.create(customer=buyer, from_date=date(2026, 5, 1))

    owners = owners_of(vessel.pk)

    assert [(owner.name, owner.from_date, owner.until_date) for owner in owners] == [
        ("Bo Holm", date(2026, 5, 1), None),
        ("Anna Berg", date(2026, 1, 1), date(2026, 5, 1)),
    ]

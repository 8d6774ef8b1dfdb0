"""The desk reads what a tablet sent in words: each kind, and each field of each kind."""

import pytest

from shopapp.queries.entry_words import FIELDS, UNSAID, field_words, kind_words
from shopapp.web.bench.kinds import KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_and_every_field_of_it_has_a_word(kind: str) -> None:
    assert kind_words(kind) != kind
    assert [name for name in KINDS[kind].base_fields if name not in {*FIELDS, *UNSAID}] == []


def test_kind_that_is_not_known_is_named_as_it_came() -> None:
    assert (kind_words("wish"), kind_words("")) == ("wish", "Unreadable")


def test_fields_that_say_nothing_are_left_out() -> None:
    said = field_words({"text": "Line on the shaft", "caption": "  ", "line": "7", "mark": "x", "wish": "2"})

    assert said == (("Note", "Line on the shaft"), ("wish", "2"))


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("value_2", "Reading, cylinder 2"),
        ("second_11", "Second figure, cylinder 11"),
        ("value_x", "value_x"),
        ("value_", "value_"),
        ("idle_temperature", "Temperature at idle"),
    ],
)
def test_figures_are_named_with_their_cylinder(name: str, word: str) -> None:
    assert field_words({name: "900"}) == ((word, "900"),)

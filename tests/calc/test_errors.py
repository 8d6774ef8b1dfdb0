"""Bad input names the field, the value and what would be accepted."""

import pickle

import pytest

from shopapp.calc.errors import BadInput


def test_sentence_names_field_value_and_cure() -> None:
    error = BadInput("quantity", "abc", "a number above 0 with at most three decimals")

    assert str(error) == (
        'quantity: "abc" is not accepted. Give a number above 0 with at most three decimals.'
    )
    assert (error.field, error.value, error.sentence) == ("quantity", "abc", str(error))


def test_bad_input_is_a_value_error() -> None:
    with pytest.raises(ValueError, match="Give a price"):
        raise BadInput("price", None, "a price")


def test_long_value_is_shortened_in_sentence() -> None:
    error = BadInput("note", "x" * 1000, "less")

    assert error.sentence == f'note: "{"x" * 60}…" is not accepted. Give less.'
    assert error.value == "x" * 1000


def test_bad_input_survives_another_process() -> None:
    error = pickle.loads(pickle.dumps(BadInput("price", "-1", "0 or more")))  # noqa: S301 - our own bytes

    assert str(error) == 'price: "-1" is not accepted. Give 0 or more.'

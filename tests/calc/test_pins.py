"""Six digits, and which of them are guessed first."""

import pytest

from shopapp.calc.pins import is_pin, is_weak


@pytest.mark.parametrize("text", ["480157", "000000"])
def test_six_digits_are_a_pin(text: str) -> None:
    assert is_pin(text) is True


@pytest.mark.parametrize("text", ["", "48015", "4801570", "48015a", "４８０１５７", "48 157", "480157\n"])
def test_anything_else_is_no_pin(text: str) -> None:
    assert is_pin(text) is False


@pytest.mark.parametrize(
    "pin",
    ["000000", "123456", "654321", "789012", "210987", "135791", "121212", "112112", "113355", "443322"],
)
def test_pin_that_is_guessed_first_is_weak(pin: str) -> None:
    assert is_weak(pin) is True


@pytest.mark.parametrize("pin", ["480157", "123465", "112354", "902317"])
def test_other_pins_are_not_weak(pin: str) -> None:
    assert is_weak(pin) is False


def test_few_of_all_pins_are_weak() -> None:
    """Otherwise the rule would leave too few to guess among."""
    weak = sum(is_weak(f"{number:06d}") for number in range(0, 1_000_000, 17))

    assert weak < 300

"""Whether a PIN is too easy to guess. Which ones people choose first is common practice, no source."""

from itertools import pairwise

DIGITS = 6


def is_pin(text: str) -> bool:
    """Six digits of the usual kind."""
    return len(text) == DIGITS and text.isascii() and text.isdigit()


def is_weak(pin: str) -> bool:
    """One or two digits over and over, a run up or down (also by pairs or past nine), a block repeated."""
    blocks = [pin[:size] * (DIGITS // size) for size in (2, 3)]
    return len(set(pin)) <= 2 or pin in blocks or _is_run(pin) or (_is_in_pairs(pin) and _is_run(pin[::2]))


def _is_in_pairs(pin: str) -> bool:
    return pin[::2] == pin[1::2]


def _is_run(digits: str) -> bool:
    """The same step from each digit to the next, counting on from 9 to 0."""
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(digits)}
    return len(steps) == 1

"""How long the programmes run that try to break the shop: a few rounds every day, all with ``-m soak``."""

import pytest
from _pytest.mark import ParameterSet


def short_and_long(short: int, long: int) -> list[int | ParameterSet]:
    """The two lengths of a programme, to be given to ``parametrize``; the long one is a soak run."""
    return [short, pytest.param(long, marks=pytest.mark.soak)]

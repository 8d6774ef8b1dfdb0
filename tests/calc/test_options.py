"""Options that hang together: names, what follows what, and figures that are none."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopapp.calc.errors import BadInput
from shopapp.calc.expectation import expected
from shopapp.calc.options import Outlook, Warranty
from tests.calc.test_expectation import SEASON, ByChance, repair


def test_names_must_be_told_apart_and_followers_known() -> None:
    this, outlook = repair(ByChance(rate=1)), Outlook(months=12, season=SEASON)

    with pytest.raises(BadInput, match="a name of its own"):
        expected([this, this], outlook=outlook)
    with pytest.raises(BadInput, match="what follows"):
        expected([replace(this, follows="nothing there")], outlook=outlook)


def test_followers_in_a_circle_are_refused() -> None:
    one = repair(ByChance(rate=1), follows="other")
    other = repair(ByChance(rate=1), name="other", follows="this")

    with pytest.raises(BadInput, match="in a circle"):
        expected([one, other], outlook=Outlook(months=12, season=SEASON))


@pytest.mark.parametrize(
    "nonsense",
    [
        lambda: Outlook(months=121, season=SEASON),
        lambda: Outlook(months=-1, season=SEASON),
        lambda: Outlook(months=12, season=SEASON, rate=float("nan")),
        lambda: Outlook(months=12, season=SEASON, lost_day=-1.0),
        lambda: Outlook(months=12, season=SEASON, tow=float("inf")),
        lambda: Warranty(months=-1),
        lambda: Warranty(months=1, left_out=float("nan")),
        lambda: repair(ByChance(rate=1), days=-2.0),
        lambda: repair(ByChance(rate=1), price=float("nan")),
        lambda: repair(ByChance(rate=1), damage=-1.0),
        lambda: repair(ByChance(rate=1), lost_core=-1.0),
        lambda: repair(ByChance(rate=1), resale=-1.0),
    ],
)
def test_nonsense_is_refused(nonsense: Callable[[], object]) -> None:
    with pytest.raises(BadInput, match=r"is not accepted\. Give"):
        nonsense()

"""What fits what was agreed, row by row."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from shopapp.calc.agreed import (
    Bargain,
    Deal,
    Piece,
    Standing,
    Weighed,
    allowed,
    beyond,
    less,
    weigh,
    whole_coins,
)
from shopapp.calc.money import Rounding

FIXED = Deal(bargain=Bargain.FIXED, agreed=10_000)
CEILING = Deal(bargain=Bargain.CEILING, agreed=10_000)
AS_USED = Deal(bargain=Bargain.AS_USED, agreed=10_000)


def piece(number: int, exact: int | Fraction | None, **changes: object) -> Piece:
    """A row of job 1 that is not on the plan."""
    base = Piece(
        key=("part_used", number),
        job=1,
        exact=None if exact is None else Fraction(exact),
        group=("part_used", number),
    )
    return replace(base, **changes)


def weighed(pieces: Sequence[Piece], deal: Deal, *, limit: int = 10_000) -> tuple[Weighed, ...]:
    return weigh(pieces, deals={1: deal}, limit=limit, rounding=Rounding.HALF_UP)


def standings(pieces: Sequence[Piece], deal: Deal, *, limit: int = 10_000) -> list[tuple[str, int]]:
    return [(one.standing.value, one.coins) for one in weighed(pieces, deal, limit=limit)]


def test_fixed_price_holds_whatever_was_used_as_planned() -> None:
    found = standings([piece(1, 90_000, is_planned=True), piece(2, None, is_planned=True)], FIXED)

    assert found == [("in_the_price", 0), ("in_the_price", 0)]


def test_fixed_price_takes_no_extra_row_however_much_room_there_is() -> None:
    assert standings([piece(1, 1)], FIXED, limit=99_999) == [("extra", 1)]


def test_row_from_before_the_price_was_agreed_is_in_it() -> None:
    found = weighed([piece(1, 500, is_before=True)], FIXED)

    assert [(one.standing, one.coins) for one in found] == [(Standing.BEFORE_THE_PRICE, 500)]
    assert beyond(found) == 0


def test_used_rows_count_until_the_room_ends() -> None:
    found = standings([piece(1, 6_000), piece(2, 4_000), piece(3, 1)], AS_USED)

    assert found == [("counts", 6_000), ("counts", 4_000), ("no_room", 1)]


def test_smaller_row_may_fit_after_one_that_does_not() -> None:
    found = standings([piece(1, 6_000), piece(2, 5_000), piece(3, 4_000)], AS_USED)

    assert found == [("counts", 6_000), ("no_room", 5_000), ("counts", 4_000)]


def test_ceiling_caps_without_holding_anything() -> None:
    found = standings([piece(1, 9_000), piece(2, 3_000), piece(3, 50)], CEILING)

    assert found == [("counts", 9_000), ("counts", 1_000), ("counts", 0)]


def test_fixed_price_takes_its_room_before_any_row() -> None:
    deals = {1: AS_USED, 2: FIXED}
    found = weigh([piece(1, 2_000), piece(2, 1)], deals=deals, limit=12_000, rounding=Rounding.HALF_UP)

    assert [one.standing.value for one in found] == ["counts", "no_room"]


def test_billed_row_keeps_its_place_before_older_ones() -> None:
    found = weighed([piece(1, 6_000), piece(2, 6_000, is_billed=True)], AS_USED)

    assert [(one.piece.key[1], one.standing.value) for one in found] == [(2, "counts"), (1, "no_room")]


@pytest.mark.parametrize("deal", [FIXED, CEILING, AS_USED])
def test_owner_takes_a_row_out_of_the_reckoning(deal: Deal) -> None:
    found = standings([piece(1, 50_000, is_by_owner=True), piece(2, 10_000)], deal)

    assert found[0] == ("by_owner", 50_000)
    assert found[1][0] == ("extra" if deal is FIXED else "counts")


@pytest.mark.parametrize("deal", [CEILING, AS_USED])
def test_row_without_a_price_waits(deal: Deal) -> None:
    assert standings([piece(1, None), piece(2, None, is_by_owner=True)], deal) == [("not_priced", 0)] * 2


def test_extra_work_on_a_fixed_job_is_told_before_it_is_priced() -> None:
    found = standings([piece(1, None), piece(2, None, is_by_owner=True)], FIXED)

    assert found == [("extra", 0), ("not_priced", 0)]


def test_job_without_a_deal_costs_what_was_used() -> None:
    found = weigh([piece(1, 300), piece(2, 1)], deals={}, limit=300, rounding=Rounding.HALF_UP)

    assert [one.standing.value for one in found] == ["counts", "no_room"]


def test_hours_at_one_rate_are_rounded_together() -> None:
    """100 and 50 minutes at 115.00: 191.67 and 95.83 make 287.50, as two and a half hours do."""
    minutes = [Fraction(100 * 11_500, 60), Fraction(50 * 11_500, 60)]
    rows = [piece(number, exact, group=("hours",)) for number, exact in enumerate(minutes)]

    assert standings(rows, AS_USED, limit=28_750) == [("counts", 19_167), ("counts", 9_583)]


def test_what_nobody_agreed_to_is_summed() -> None:
    assert beyond(weighed([piece(1, 10_000), piece(2, 300), piece(3, None)], AS_USED)) == 300


@pytest.mark.parametrize(("over_e4", "coins"), [(0, 9_999), (1_000, 10_998), (10_000, 19_998)])
def test_share_on_top_is_rounded_down(over_e4: int, coins: int) -> None:
    assert allowed(9_999, over_e4=over_e4) == coins


def test_discount_is_taken_exactly() -> None:
    assert less(Fraction(1_000), share_e4=333) == Fraction(9_667, 10)
    assert whole_coins(Fraction(1, 2), rounding=Rounding.HALF_UP) == 1
    assert whole_coins(Fraction(1, 2), rounding=Rounding.HALF_EVEN) == 0

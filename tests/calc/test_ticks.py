"""What ticks come to, in whatever order they are counted."""

from datetime import UTC, datetime, timedelta
from itertools import permutations

import pytest

from shopapp.calc.ticks import Tick, begun_early, is_done, numbers_done

BEGIN = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)


def tick(minute: int, stage: int | None = None, fastener: int | None = None) -> Tick:
    return Tick(at=BEGIN + timedelta(minutes=minute), stage=stage, fastener=fastener)


@pytest.mark.parametrize(("ticks", "done"), [([], False), ([tick(1)], True), ([tick(1), tick(2)], True)])
def test_plain_step_is_done_by_any_tick(ticks: list[Tick], done: bool) -> None:
    assert is_done(ticks, fasteners=()) is done


def test_whole_stage_counts_for_every_fastener() -> None:
    assert numbers_done([tick(1, 1)], stage=1, fasteners=3) == {1, 2, 3}
    assert numbers_done([tick(1, 2)], stage=1, fasteners=3) == set()
    assert numbers_done([tick(1, 1, 3), tick(2, 1, 3)], stage=1, fasteners=3) == {3}


@pytest.mark.parametrize("missing", range(4))
def test_joint_is_done_once_every_fastener_of_every_stage_is(missing: int) -> None:
    ticks = [tick(1, 1, 1), tick(2, 1, 2), tick(3, 2, 1), tick(4, 2, 2)]

    assert is_done(ticks, fasteners=(2, 2))
    assert not is_done(ticks[:missing] + ticks[missing + 1 :], fasteners=(2, 2))


def test_later_stage_before_an_earlier_one_is_asked_about_in_any_order_of_arrival() -> None:
    late = [tick(1, 1, 1), tick(5, 1, 2), tick(3, 2, 1), tick(6, 2, 2)]

    assert {begun_early(some, fasteners=(2, 2)) for some in permutations(late)} == {(2,)}


@pytest.mark.parametrize(
    ("ticks", "early"),
    [
        ([tick(1, 1), tick(2, 2), tick(3, 3)], ()),
        ([tick(1, 2)], (2,)),
        ([tick(1, 1), tick(2, 3)], (3,)),
        ([tick(1, 1, 1), tick(2, 1, 2), tick(2, 2, 1)], ()),
        ([tick(1, 1, 1), tick(3, 1), tick(2, 2, 1)], (2,)),
    ],
)
def test_stages_in_turn_ask_nothing(ticks: list[Tick], early: tuple[int, ...]) -> None:
    assert begun_early(ticks, fasteners=(2, 2, 2)) == early

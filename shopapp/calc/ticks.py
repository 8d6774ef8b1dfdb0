"""What the ticks of a step come to: which fasteners have had which stage, whether all is done.

Ticks may be counted in any order: offline entries come as they come.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, kw_only=True)
class Tick:
    """A tick that stands: ``stage`` from 1, ``fastener`` by the order of the stage; None: all of it."""

    at: datetime
    stage: int | None = None
    fastener: int | None = None


def numbers_done(ticks: Iterable[Tick], *, stage: int, fasteners: int) -> frozenset[int]:
    """The fasteners of a stage that have had it, by their number in its order."""
    own = [one for one in ticks if one.stage == stage]
    if any(one.fastener is None for one in own):
        return frozenset(range(1, fasteners + 1))
    return frozenset(one.fastener for one in own if one.fastener is not None)


def is_done(ticks: Iterable[Tick], *, fasteners: Sequence[int]) -> bool:
    """Whether a step is done; ``fasteners`` are how many each of its stages has, empty for a plain step."""
    standing = list(ticks)
    if not fasteners:
        return bool(standing)
    return all(
        len(numbers_done(standing, stage=stage, fasteners=count)) == count
        for stage, count in enumerate(fasteners, start=1)
    )


def begun_early(ticks: Iterable[Tick], *, fasteners: Sequence[int]) -> tuple[int, ...]:
    """Stages of which some was ticked as done before the stage before was whole; those are asked about."""
    standing = list(ticks)
    found = []
    for stage, count in enumerate(fasteners[:-1], start=1):
        later = [one.at for one in standing if one.stage == stage + 1]
        whole = _whole_at([one for one in standing if one.stage == stage], fasteners=count)
        if later and (whole is None or min(later) < whole):
            found.append(stage + 1)
    return tuple(found)


def _whole_at(ticks: Sequence[Tick], *, fasteners: int) -> datetime | None:
    """When the last fastener of a stage had it; None while one is missing."""
    firsts = []
    for number in range(1, fasteners + 1):
        having = [one.at for one in ticks if one.fastener in (None, number)]
        if not having:
            return None
        firsts.append(min(having))
    return max(firsts)

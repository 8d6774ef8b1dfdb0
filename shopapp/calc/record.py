"""The shop's own record of a way of putting right: how many held, and what may be believed of the next one.

Times are months or seasons, as the caller likes, all in one unit. Chances are shares.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from math import isfinite

from shopapp.calc.errors import BadInput

# so many repairs of the wider group speak beside a shop's own: common practice, no source
WEIGHT_OF_PRIOR = 8.0
# below it the record is shown, but the judgement speaks
ENOUGH = 10


class Fate(StrEnum):
    """What became of a repair, as far as the shop knows."""

    HELD = "held"  # seen here since, without a comeback
    CAME_BACK = "came_back"  # for the same cause
    STILL_RUNNING = "still_running"  # not seen since, and nothing heard
    UNKNOWN = "unknown"  # lost sight of, or a comeback that nobody has judged


@dataclass(frozen=True, kw_only=True)
class Comeback:
    """A boat that returned after a repair; `is_same`: for the same cause; None: not judged."""

    at: datetime
    is_same: bool | None


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What became of a repair, and until when that is known (for one that came back: when it did)."""

    fate: Fate
    until: datetime


def verdict(
    comebacks: Sequence[Comeback], *, seen: datetime | None, left: datetime | None, at: datetime
) -> Verdict:
    """What became of a repair as of a moment.

    The first comeback for the same cause decides; else one that is not judged yet leaves it unknown. `seen`:
    when boat or engine was last here since. `left`: when it went out of the shop's sight (boat sold, engine
    moved), after which nothing is known but that it was seen. Whoever stays in sight is taken to come here
    with the same trouble, so time goes on until `at`.
    """
    same = [one.at for one in comebacks if one.is_same]
    if same:
        return Verdict(fate=Fate.CAME_BACK, until=min(same))
    unjudged = [one.at for one in comebacks if one.is_same is None]
    if unjudged:
        return Verdict(fate=Fate.UNKNOWN, until=min(unjudged))
    until = at if left is None else max(left, seen or left)
    if seen is not None:
        return Verdict(fate=Fate.HELD, until=until)
    return Verdict(fate=Fate.STILL_RUNNING if left is None else Fate.UNKNOWN, until=until)


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One repair: how long it was seen, and whether it failed for the same cause then."""

    time: float
    failed: bool

    def __post_init__(self) -> None:
        if not (isfinite(self.time) and self.time >= 0):
            raise BadInput("time until the end", self.time, "a time that is 0 or more")


@dataclass(frozen=True, kw_only=True)
class Step:
    """After the failures at `time`: `share` still holds; `variance` is that of the share."""

    time: float
    at_risk: int
    failures: int
    share: float
    variance: float


def kaplan_meier(outcomes: Sequence[Outcome]) -> tuple[Step, ...]:
    """The share that holds after each time of failure; what ends unfailed at such a time counts as at risk.

    S = Π(1 − d/n); Greenwood's variance S²·Σ d/(n(n − d)), nil once nothing is left. Source: E. L. Kaplan and
    P. Meier, J. Amer. Statist. Assoc. 53 (1958) 457–481, sections 2 and 3 (formulas from memory).
    """
    steps: list[Step] = []
    share, spread = 1.0, 0.0
    for time in sorted({one.time for one in outcomes if one.failed}):
        at_risk = sum(one.time >= time for one in outcomes)
        failures = sum(one.failed and one.time == time for one in outcomes)
        share *= 1 - failures / at_risk
        spread += failures / (at_risk * (at_risk - failures)) if failures < at_risk else 0.0
        steps.append(
            Step(time=time, at_risk=at_risk, failures=failures, share=share, variance=share**2 * spread)
        )
    return tuple(steps)


@dataclass(frozen=True, kw_only=True)
class Seen:
    """A record as so many repairs of which a share failed; neither number need be whole."""

    repairs: float
    failures: float


def seen_by(outcomes: Sequence[Outcome], *, time: float) -> Seen:
    """What the record says of failures up to `time`: the share, and of how many repairs it is worth.

    Repairs that were not seen so long count for the time they were. The effective number is S(1 − S)/Var, or
    the number at risk where the variance is nil.
    """
    steps = [step for step in kaplan_meier(outcomes) if step.time <= time]
    share = steps[-1].share if steps else 1.0
    variance = steps[-1].variance if steps else 0.0
    if variance == 0:
        repairs = float(sum(one.time >= time or one.failed for one in outcomes))
    else:
        repairs = share * (1 - share) / variance
    return Seen(repairs=repairs, failures=repairs * (1 - share))


@dataclass(frozen=True, kw_only=True)
class Belief:
    """A beta distribution of the chance; `alpha` weighs failures, `beta` what held."""

    alpha: float
    beta: float

    @property
    def mean(self) -> float:
        """The chance to reckon with."""
        return self.alpha / (self.alpha + self.beta)


def believed(seen: Seen, *, prior: float, weight: float = WEIGHT_OF_PRIOR) -> Belief:
    """The chance after a record, of a prior mean that weighs as much as `weight` repairs.

    Beta-binomial update: alpha = prior·weight + failures, beta = (1 − prior)·weight + the others. Source:
    A. A. Johnson, M. Q. Ott and M. Dogucu, Bayes Rules! (2022), chapter 3. So "0 of 2" is never nil.

    Raises:
        BadInput: a prior that is nil or certain, or no weight.
    """
    if not 0 < prior < 1:
        raise BadInput("chance before the record", prior, "a share between 0 and 1")
    if not weight > 0:
        raise BadInput("weight of the chance before the record", weight, "a number of repairs above 0")
    held = seen.repairs - seen.failures
    return Belief(alpha=prior * weight + seen.failures, beta=(1 - prior) * weight + held)


def believed_beside(own: Seen, *, others: Seen, prior: float) -> Belief:
    """The chance after a record, of what others like it say, or of `prior` where those are too few.

    `others` must not hold what `own` holds, or it would speak twice. Their mean is taken after `prior` too,
    so that it is neither nil nor certain.
    """
    wider = believed(others, prior=prior).mean if speaks(others) else prior
    return believed(own, prior=wider)


def speaks(seen: Seen) -> bool:
    """Whether the record has enough repairs to be told instead of a judgement."""
    return seen.repairs >= ENOUGH

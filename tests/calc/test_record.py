"""The shop's own record: published survival tables and beliefs, and what a small record may not claim."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from shopapp.calc.errors import BadInput
from shopapp.calc.record import (
    Comeback,
    Fate,
    Outcome,
    Seen,
    Verdict,
    believed,
    believed_beside,
    kaplan_meier,
    seen_by,
    speaks,
    verdict,
)
from tests.reference.cases import Case, case

# the 6-MP arm of Freireich et al., Blood 21 (1963) 699–716, in weeks (from memory): failed, and seen without
FAILED_WEEKS = (6, 6, 6, 7, 10, 13, 16, 22, 23)
SEEN_WEEKS = (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)


def outcomes(failed: tuple[float, ...], seen: tuple[float, ...]) -> list[Outcome]:
    return [Outcome(time=time, failed=True) for time in failed] + [
        Outcome(time=time, failed=False) for time in seen
    ]


def as_table(found: list[Outcome]) -> dict[str, float]:
    return {f"{step.time:g}": round(step.share, 3) for step in kaplan_meier(found)}


def test_remission_trial_gives_the_published_shares() -> None:
    published = case("reliability", "REL-012").expected["survival"]

    assert as_table(outcomes(FAILED_WEEKS, SEEN_WEEKS)) == pytest.approx(published, abs=1e-3)


def test_life_test_gives_the_published_shares() -> None:
    given = case("reliability", "REL-013")
    seen = tuple(given.inputs["removed"]) + (200,) * given.inputs["survivors_at_200"]

    assert as_table(outcomes(tuple(given.inputs["failures"]), seen)) == given.expected["survival"]


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=1, max_size=40))
def test_shares_agree_with_scipy(rows: list[tuple[int, bool]]) -> None:
    found = [Outcome(time=time, failed=failed) for time, failed in rows]
    data = stats.CensoredData.right_censored([time for time, _ in rows], [not failed for _, failed in rows])
    survival = stats.ecdf(data).sf

    for step in kaplan_meier(found):
        assert step.share == pytest.approx(float(survival.evaluate(np.array([step.time]))[0]))


def test_greenwoods_variance_is_the_binomial_one_where_all_were_seen() -> None:
    found = outcomes((1, 2), (5,) * 8)
    last = kaplan_meier(found)[-1]

    assert last.variance == pytest.approx(0.8 * 0.2 / 10)
    assert seen_by(found, time=3).repairs == pytest.approx(10)
    assert seen_by(found, time=3).failures == pytest.approx(2)


def test_repairs_that_still_run_count_for_the_time_they_were_seen() -> None:
    whole = seen_by(outcomes((2,), (12,) * 9), time=12)
    young = seen_by(outcomes((2,), (12,) * 5 + (1,) * 4), time=12)

    assert whole.failures / whole.repairs == pytest.approx(0.1)
    assert young.failures / young.repairs == pytest.approx(1 / 6)
    assert young.repairs == pytest.approx(6)


def test_record_without_a_failure_counts_those_that_were_seen_so_long() -> None:
    assert seen_by(outcomes((), (12, 12, 3)), time=12) == Seen(repairs=2, failures=0)


def test_record_in_which_all_failed_counts_them() -> None:
    assert seen_by(outcomes((3, 5), ()), time=12) == Seen(repairs=2, failures=2)


def test_nothing_seen_is_no_record() -> None:
    assert seen_by([], time=12) == Seen(repairs=0, failures=0)


@pytest.mark.parametrize(
    "one", [case("reliability", id_) for id_ in ("REL-015", "REL-017", "REL-019", "REL-020")], ids=str
)
def test_belief_is_the_published_posterior(one: Case) -> None:
    alpha, beta = one.inputs["prior_alpha"], one.inputs["prior_beta"]
    weight = alpha + beta
    seen = Seen(repairs=one.inputs["trials"], failures=one.inputs["events"])
    belief = believed(seen, prior=alpha / weight, weight=weight)

    assert belief.alpha == pytest.approx(one.expected["posterior_alpha"])
    assert belief.beta == pytest.approx(one.expected["posterior_beta"])
    assert belief.mean == pytest.approx(one.expected["posterior_mean"], abs=1e-6)


def test_none_of_two_is_never_nil() -> None:
    assert believed(Seen(repairs=2, failures=0), prior=0.125).mean == pytest.approx(0.1)


def test_record_speaks_from_ten_repairs() -> None:
    assert [speaks(Seen(repairs=repairs, failures=0)) for repairs in (9.9, 10)] == [False, True]


@pytest.mark.parametrize("prior", [0.0, 1.0, float("nan")])
def test_prior_that_is_nil_or_certain_is_refused(prior: float) -> None:
    with pytest.raises(BadInput, match="between 0 and 1"):
        believed(Seen(repairs=0, failures=0), prior=prior)


def test_nonsense_is_refused() -> None:
    with pytest.raises(BadInput, match="above 0"):
        believed(Seen(repairs=0, failures=0), prior=0.1, weight=0)
    with pytest.raises(BadInput, match="0 or more"):
        Outcome(time=float("nan"), failed=True)


AT = datetime(2026, 6, 2, tzinfo=UTC)


def days_ago(days: int) -> datetime:
    return AT - timedelta(days=days)


@pytest.mark.parametrize(
    ("comebacks", "seen", "left", "fate", "until"),
    [
        ([], None, None, Fate.STILL_RUNNING, 0),
        ([], 50, None, Fate.HELD, 0),
        ([], None, 80, Fate.UNKNOWN, 80),
        ([], 90, 80, Fate.HELD, 80),
        ([], 50, 80, Fate.HELD, 50),
        ([(70, True)], None, None, Fate.CAME_BACK, 70),
        ([(70, True), (90, True)], 60, 80, Fate.CAME_BACK, 90),
        ([(70, True), (90, None)], None, None, Fate.CAME_BACK, 70),
        ([(70, None), (90, False)], 70, None, Fate.UNKNOWN, 70),
        ([(70, False)], 70, None, Fate.HELD, 0),
    ],
)
def test_verdict_tells_what_is_known_and_until_when(
    comebacks: list[tuple[int, bool | None]], seen: int | None, left: int | None, fate: Fate, until: int
) -> None:
    came = [Comeback(at=days_ago(days), is_same=is_same) for days, is_same in comebacks]
    moments = {
        name: None if days is None else days_ago(days) for name, days in (("seen", seen), ("left", left))
    }

    assert verdict(came, at=AT, **moments) == Verdict(fate=fate, until=days_ago(until))


def test_ten_others_speak_before_the_shops_starting_chance() -> None:
    own = Seen(repairs=2, failures=0)

    few = believed_beside(own, others=Seen(repairs=9, failures=9), prior=0.125)
    many = believed_beside(own, others=Seen(repairs=12, failures=4), prior=0.125)

    assert few == believed(own, prior=0.125)
    # the others: (0.125 × 8 + 4) / (8 + 12) = 1 in 4; then two that held beside eight of those
    assert (many.alpha, many.beta) == pytest.approx((2, 8))


def test_others_that_all_held_leave_a_chance_above_nil() -> None:
    belief = believed_beside(Seen(repairs=0, failures=0), others=Seen(repairs=400, failures=0), prior=0.125)

    assert belief.mean == pytest.approx(1 / 408)

"""Lives: a chance a season and a shape make a distribution; the clock of use stands still in winter."""

import numpy as np
import pytest
from scipy import stats

from shopapp.calc.errors import BadInput
from shopapp.calc.life import Clock, Fails, Season, Weibull, seasons_since
from tests.reference.cases import Case, case, cases, ids

MAY_TO_SEPTEMBER = Season(handed_over=5, first_month=5, months=5)
DISTRIBUTIONS = {"REL-001", "REL-003", "REL-004", "REL-006", "REL-007", "REL-009", "REL-022", "REL-024"}
NOT_REPLAYED = {
    "REL-012": "replayed in test_record",
    "REL-013": "replayed in test_record",
    "REL-014": "needs a data set of 163 rows that is not among the references",
    "REL-015": "replayed in test_record",
    "REL-017": "replayed in test_record",
    "REL-019": "replayed in test_record",
    "REL-020": "replayed in test_record",
    "REL-023": "nothing here is made of parts in series",
}


def by_scale(shape: float, scale: float) -> Weibull:
    """The distribution that a table gives by its scale."""
    return Weibull(chance=float(-np.expm1(-((1 / scale) ** shape))), shape=shape)


def failed_by(life: Weibull, age: float) -> float:
    return float(life.cdf(np.array([age]))[0])


def test_every_published_case_is_replayed_or_has_its_reason() -> None:
    assert ids(cases("reliability")) == DISTRIBUTIONS | set(NOT_REPLAYED)


@pytest.mark.parametrize("one", [case("reliability", id_) for id_ in ("REL-001", "REL-004")], ids=str)
def test_shape_one_is_the_exponential_distribution(one: Case) -> None:
    life = by_scale(1, 1 / one.inputs["rate"])

    assert failed_by(life, one.inputs["t"]) == pytest.approx(one.expected["cdf"], abs=5e-8)


def test_share_failed_is_that_of_the_published_table() -> None:
    one = case("reliability", "REL-003")
    # a scale of 100 seasons and a shape of 20: the chance of one season is too small for a float, so the
    # table's age is read in units of the scale
    life = by_scale(one.inputs["shape"], 1.0)

    assert failed_by(life, one.inputs["t"] / one.inputs["scale"]) == pytest.approx(0.929581, abs=5e-7)


@pytest.mark.parametrize(
    "one", [case("reliability", id_) for id_ in ("REL-006", "REL-007", "REL-009")], ids=str
)
def test_share_that_lasts_on_is_that_of_the_published_formula(one: Case) -> None:
    life = by_scale(one.inputs["shape"], one.inputs["scale"])
    age, horizon = one.inputs["age"], one.inputs["horizon"]

    lasts_on = (1 - failed_by(life, age + horizon)) / (1 - failed_by(life, age))

    assert lasts_on == pytest.approx(one.expected["reliability"], abs=5e-6)


def test_constant_rate_fails_as_published() -> None:
    one = case("reliability", "REL-022")
    life = by_scale(1, one.inputs["mtbf_hours"])

    assert failed_by(life, one.inputs["horizon_hours"]) == pytest.approx(
        one.expected["failure_chance"], abs=5e-7
    )


def test_two_thirds_fail_by_the_scale_whatever_the_shape() -> None:
    one = case("reliability", "REL-024")
    shares = [
        failed_by(life, life.scale)
        for life in (Weibull(chance=0.3, shape=shape) for shape in one.inputs["any_shape"])
    ]

    assert shares == pytest.approx([one.expected["F(scale)"]] * 4, abs=5e-7)


@pytest.mark.parametrize("shape", [0.3, *(fails.value for fails in Fails), 50])
@pytest.mark.parametrize("chance", [1e-9, 0.02, 0.5, 0.999])
def test_agrees_with_scipy(chance: float, shape: float) -> None:
    life = Weibull(chance=chance, shape=shape)
    other = stats.weibull_min(shape, scale=(-np.log1p(-chance)) ** (-1 / shape))
    ages, shares = np.linspace(0, 5, 41), np.linspace(0, 0.999, 41)

    assert life.cdf(ages) == pytest.approx(other.cdf(ages), rel=1e-9, abs=1e-15)
    assert life.age_at(shares) == pytest.approx(other.ppf(shares), rel=1e-9)
    assert failed_by(life, 1.0) == pytest.approx(chance, rel=1e-12)


def test_age_is_told_for_other_chances() -> None:
    life, shares = Weibull(chance=0.2, shape=2.5), np.array([0.1, 0.9])

    ages = life.age_at(shares, chances=np.array([0.4, 0.05]))

    assert ages[0] == Weibull(chance=0.4, shape=2.5).age_at(shares)[0]
    assert ages[1] == Weibull(chance=0.05, shape=2.5).age_at(shares)[1]


@pytest.mark.parametrize(
    ("chance", "shape", "field"),
    [
        (0.0, 1.0, "chance of a failure within a season"),
        (1.0, 1.0, "chance of a failure within a season"),
        (-0.1, 1.0, "chance of a failure within a season"),
        (float("nan"), 1.0, "chance of a failure within a season"),
        (0.5, 0.29, "shape"),
        (0.5, float("nan"), "shape"),
        (0.5, 101.0, "shape"),
    ],
)
def test_nonsense_is_refused_at_its_field(chance: float, shape: float, field: str) -> None:
    with pytest.raises(BadInput) as refused:
        Weibull(chance=chance, shape=shape)

    assert refused.value.field == field


def test_season_runs_in_its_months_only() -> None:
    months = np.array([0, 2.5, 5, 8, 12, 13])

    assert MAY_TO_SEPTEMBER.months_run(months).tolist() == [0, 2.5, 5, 5, 5, 6]


def test_season_begins_later_for_a_boat_handed_over_in_winter() -> None:
    handed_over_in_january = Season(handed_over=1, first_month=5, months=5)

    assert handed_over_in_january.months_run(np.array([4, 5, 9, 12])).tolist() == [0, 1, 5, 5]


def test_season_over_new_year() -> None:
    from_november = Season(handed_over=12, first_month=11, months=4)

    assert from_november.months_run(np.array([1, 3, 11, 12])).tolist() == [1, 3, 3, 4]


def test_use_counts_seasons_and_calendar_counts_years() -> None:
    months = np.array([0, 5, 12, 30])

    assert seasons_since(months, clock=Clock.USE, season=MAY_TO_SEPTEMBER).tolist() == [0, 1, 1, 3]
    assert seasons_since(months, clock=Clock.CALENDAR, season=MAY_TO_SEPTEMBER).tolist() == [
        0,
        5 / 12,
        1,
        2.5,
    ]


@pytest.mark.parametrize(
    ("handed_over", "first_month", "months", "field"),
    [
        (0, 5, 5, "month of hand-over"),
        (5, 13, 5, "first month"),
        (5, 5, 0, "months of a season"),
        (5, 5, 13, "months of a season"),
    ],
)
def test_months_that_are_none_are_refused(
    handed_over: int, first_month: int, months: int, field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        Season(handed_over=handed_over, first_month=first_month, months=months)

    assert refused.value.field == field

"""The actual book: what each role reads of it, and what an hour of a person costs."""

from collections.abc import Callable
from dataclasses import fields
from datetime import date, datetime
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, LogTimeInput, UsePartInput, log_fluid, log_time, use_part
from shopapp.models import FluidCondition, Job, Person, Stage
from shopapp.queries.actuals import (
    MOST_ROWS,
    ActualBook,
    ActualRow,
    CostedRow,
    PricedRow,
    actual_book,
    cost_rate_at,
    in_words,
)
from tests.factories import WageFactory
from tests.factories.jobs import agreed_job, log_parts, plan_line

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


@pytest.fixture
def job(tobiah: Person, ilse: Person, by: By) -> Job:
    """A job on which one of each is logged."""
    WageFactory(person=tobiah)
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    use_part(job.pk, UsePartInput(quantity=Decimal("1.5"), line=plan_line(job, "part").pk), by=by(tobiah))
    data = UsePartInput(quantity=Decimal(1), description="O-ring", unit_cost=Decimal("3.20"))
    use_part(job.pk, data, by=by(ilse))
    log_time(job.pk, LogTimeInput(minutes=95), by=by(tobiah))
    oil = LogFluidInput(
        point="gearcase", product="Oil", drained_ml=690, filled_ml=750, condition=FluidCondition.MILKY
    )
    log_fluid(job.pk, oil, by=by(tobiah))
    return job


def test_technician_reads_rows_without_money(job: Job, tobiah: Person) -> None:
    rows = actual_book([job], viewer=tobiah).rows

    assert {type(row) for row in rows} == {ActualRow}
    money = {"unit_price", "unit_cost", "price_rule", "price_unit"}
    assert money & {field.name for row in rows for field in fields(row)} == set()


def test_rows_are_told_in_words(job: Job, tobiah: Person) -> None:
    rows = {row.what: row for row in actual_book([job], viewer=tobiah).rows}

    assert sorted(rows) == ["O-ring", "Oil", "Repair", "Shaft seal"]
    assert (rows["Shaft seal"].amount, rows["Shaft seal"].unit, rows["Shaft seal"].number) == (
        Decimal("1.5"),
        "each",
        "SR-1188",
    )
    assert (rows["Repair"].amount_words, rows["Repair"].note) == ("1 h 35 min", "Tobiah Reyes")
    assert (rows["Oil"].amount, rows["Oil"].unit, rows["Oil"].note) == (
        Decimal(750),
        "ml",
        "drained 690 ml, milky (water)",
    )
    assert [bool(rows[what].plan_line) for what in sorted(rows)] == [False, False, False, True]


def test_fluid_that_only_came_out_says_how_much(job: Job, ilse: Person, by: By) -> None:
    milky = LogFluidInput(point="gearcase", product="Old oil", drained_ml=840, condition=FluidCondition.MILKY)
    log_fluid(job.pk, milky, by=by(ilse))

    row = next(row for row in actual_book([job], viewer=ilse).rows if row.what == "Old oil")

    assert (row.amount_words, row.note) == ("840 ml drained", "milky (water)")


def test_desk_reads_prices_and_no_costs(job: Job, ilse: Person) -> None:
    rows = {row.what: row for row in actual_book([job], viewer=ilse).rows}

    assert {type(row) for row in rows.values()} == {PricedRow}
    assert [(what, rows[what].unit_price, rows[what].price_unit) for what in sorted(rows)] == [
        ("O-ring", Decimal("5.12"), "each"),
        ("Oil", None, "L"),
        ("Repair", Decimal(120), "h"),
        ("Shaft seal", Decimal("18.40"), "each"),
    ]


def test_owner_reads_costs_and_rules(job: Job, maren: Person) -> None:
    rows = {row.what: row for row in actual_book([job], viewer=maren).rows}

    assert {type(row) for row in rows.values()} == {CostedRow}
    assert [(what, rows[what].unit_cost) for what in sorted(rows)] == [
        ("O-ring", Decimal("3.20")),
        ("Oil", None),
        ("Repair", Decimal("37.50")),
        ("Shaft seal", Decimal("765.4321")),
    ]
    assert rows["O-ring"].price_rule == (
        "Cost 3.20. Band up to 50.00: plus 60 % is 5.12. The rule takes the cost with its markup."
    )


@pytest.mark.parametrize("who", ["tobiah", "ilse", "maren"])
def test_book_is_read_in_one_query(
    request: pytest.FixtureRequest,
    job: Job,
    django_assert_num_queries: DjangoAssertNumQueries,
    who: str,
) -> None:
    viewer = request.getfixturevalue(who)

    with django_assert_num_queries(1) as asked:
        actual_book([job], viewer=viewer)

    columns = asked.captured_queries[0]["sql"]
    assert [name in columns for name in ("unit_price_e4", "unit_cost_e4")] == [
        who in ("ilse", "maren"),
        who == "maren",
    ]


def test_no_jobs_have_no_rows(ilse: Person) -> None:
    assert actual_book([], viewer=ilse) == ActualBook(rows=(), has_older=False)


@pytest.mark.parametrize(
    ("count", "first", "has_older"), [(299, "part 1", False), (300, "part 1", False), (301, "part 2", True)]
)
def test_newest_rows_are_shown_oldest_first(
    *, tobiah: Person, now: datetime, count: int, first: str, has_older: bool
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    log_parts(job, tobiah, count=count, at=now)

    book = actual_book([job], viewer=tobiah)

    assert (book.rows[0].what, book.rows[-1].what, book.has_older) == (first, f"part {count}", has_older)
    assert len(book.rows) == min(count, MOST_ROWS)


@pytest.mark.parametrize(
    ("minutes", "words"), [(1, "1 min"), (60, "1 h"), (95, "1 h 35 min"), (1_440, "24 h"), (59, "59 min")]
)
def test_minutes_are_told_in_words(minutes: int, words: str) -> None:
    assert in_words(minutes) == words


@pytest.mark.parametrize(
    ("day", "rate"),
    [
        (date(2025, 12, 31), None),
        # by hand: 30.00 x 1.25 = 37.50; 40.00 x 1.1 = 44.00
        (date(2026, 1, 1), 375_000),
        (date(2026, 5, 31), 375_000),
        (date(2026, 6, 1), 440_000),
        (date(2030, 1, 1), 440_000),
    ],
)
def test_hour_costs_the_wage_in_force(tobiah: Person, wen: Person, day: date, rate: int | None) -> None:
    WageFactory(person=tobiah)
    WageFactory(person=tobiah, from_date=date(2026, 6, 1), hourly_e4=400_000, burden_e4=1_000)
    WageFactory(person=wen, from_date=date(2020, 1, 1), hourly_e4=999_999)

    assert cost_rate_at(tobiah, day=day) == rate


@pytest.mark.parametrize(
    ("hourly", "burden", "rate"),
    # by hand: 1 x 1.5 = 1.5 goes up to 2; 3 x 1.4999 = 4.4997 is 4; 1 x 1.4999 = 1.4999 is 1
    [(1, 5_000, 2), (3, 4_999, 4), (1, 4_999, 1), (0, 9_999, 0), (300_000, 0, 300_000)],
)
def test_hour_cost_is_rounded_half_up(tobiah: Person, hourly: int, burden: int, rate: int) -> None:
    WageFactory(person=tobiah, hourly_e4=hourly, burden_e4=burden)

    assert cost_rate_at(tobiah, day=date(2026, 6, 1)) == rate

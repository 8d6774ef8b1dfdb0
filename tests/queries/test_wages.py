"""What an hour costs, over time, as the owner reads it."""

from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Person, Shop, Wage
from shopapp.queries.wages import cost_of_an_hour, wages_page

pytestmark = pytest.mark.django_db


def add_wage(person: Person, *, day: date, hourly_e4: int, burden_e4: int = 0) -> Wage:
    return Wage.objects.create(person=person, from_date=day, hourly_e4=hourly_e4, burden_e4=burden_e4)


# 34.51 x 1.22 = 42.1022, and 0.0001 x 1.5 = 0.00015, half up
@pytest.mark.parametrize(("hourly_e4", "burden_e4", "cost"), [(345_100, 2_200, 421_022), (1, 5_000, 2)])
def test_cost_of_an_hour_is_wage_and_burden(hourly_e4: int, burden_e4: int, cost: int) -> None:
    assert cost_of_an_hour(Wage(hourly_e4=hourly_e4, burden_e4=burden_e4)) == cost


def test_wages_page_marks_what_counts_now(shop: Shop, ilse: Person) -> None:
    add_wage(ilse, day=date(2026, 1, 1), hourly_e4=300_000)
    add_wage(ilse, day=date(2026, 6, 1), hourly_e4=345_000, burden_e4=2_200)
    add_wage(ilse, day=date(2027, 1, 1), hourly_e4=360_000)

    page = wages_page(ilse, day=date(2026, 6, 1))

    assert [(row.since, row.hourly, row.burden, row.cost, row.is_now) for row in page.rows] == [
        ("1 Jan 2027", "$36.00", "0\u00a0%", "$36.00", False),
        ("1 Jun 2026", "$34.50", "22\u00a0%", "$42.09", True),
        ("1 Jan 2026", "$30.00", "0\u00a0%", "$30.00", False),
    ]


def test_wages_page_asks_twice_at_any_length(
    shop: Shop, ilse: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for year in range(1990, 2026):
        add_wage(ilse, day=date(year, 1, 1), hourly_e4=300_000)

    with django_assert_num_queries(2):
        assert len(wages_page(ilse, day=date(2026, 1, 1)).rows) == 36

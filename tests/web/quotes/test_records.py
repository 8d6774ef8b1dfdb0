"""The shop's own record at a glance: the desk's to read, each line opens."""

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Shop
from tests.factories.repairs import boat, repaired
from tests.web.pages import text_of
from tests.web.quotes.test_record import HOME

pytestmark = pytest.mark.django_db


def test_records_lead_to_each_record(front_desk: Client, shop: Shop) -> None:
    repaired(boat(), on=HOME)

    page = text_of(front_desk.get("/quotes/records/"))

    assert ("All engines" in page, "Petrel Marine P60" in page) == (True, True)
    assert page.count("0 of 1 here since 2024") == 2
    assert 'href="/quotes/record/mend/"' in page
    assert front_desk.get("/quotes/record/mend-petrelmarine-p60/").status_code == 200


def test_young_shop_is_told_what_will_stand_there(front_desk: Client, shop: Shop) -> None:
    page = text_of(front_desk.get("/quotes/records/"))

    assert "Nothing yet." in page


def test_bench_does_not_read_records(bench: Client, shop: Shop) -> None:
    assert bench.get("/quotes/records/").status_code == 403


@pytest.mark.parametrize("size", [1, 7])
def test_records_take_as_many_queries_at_any_size(
    front_desk: Client, shop: Shop, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    for place in range(size):
        repaired(boat(model=f"P{place}"), on=HOME)
    front_desk.get("/quotes/records/")

    with django_assert_num_queries(6):
        front_desk.get("/quotes/records/")

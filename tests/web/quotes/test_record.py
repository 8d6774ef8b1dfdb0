"""One record of the shop, opened to its jobs: what the desk reads of it, and what the owner."""

from datetime import date, timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Job, Shop
from tests.factories.repairs import boat, came, repaired
from tests.web.pages import text_of

pytestmark = pytest.mark.django_db

HOME = date(2024, 5, 10)
ADDRESS = "/quotes/record/mend-petrelmarine-p60/"


@pytest.fixture
def redo(shop: Shop) -> Job:
    """A job that came of a repair and nobody has judged."""
    mine = boat()
    first = repaired(mine, on=HOME, correction="New seals on the old shaft")
    return came(mine, on=HOME + timedelta(days=95), cause=first, is_same=None)


def test_owner_opens_a_count_and_is_led_to_judge(owner: Client, redo: Job) -> None:
    page = text_of(owner.get(ADDRESS, {"fate": "unknown"}))

    assert "New seals on the old shaft" in page
    assert redo.work_order.number in page
    assert f'href="/work-orders/job/{redo.pk}/cause/"' in page


def test_desk_reads_what_became_of_it_and_not_which_job(front_desk: Client, redo: Job) -> None:
    page = text_of(front_desk.get(ADDRESS))

    assert "in again after 3 months" in page
    assert [words for words in (redo.work_order.number, "/cause/", "comeback") if words in page] == []


def test_no_customer_is_named(owner: Client, redo: Job) -> None:
    page = text_of(owner.get(ADDRESS))

    assert redo.work_order.vessel.name in page
    assert [
        one for one in (redo.work_order.customer.name, redo.work_order.customer.phone) if one in page
    ] == []


def test_bench_does_not_read_a_record(bench: Client, redo: Job) -> None:
    assert bench.get(ADDRESS).status_code == 403


@pytest.mark.parametrize("key", ["new-petrelmarine-p60", "mend-sorrel-s90", "glue", "%20", "-"])
def test_record_nobody_has_is_missing(owner: Client, redo: Job, key: str) -> None:
    assert owner.get(f"/quotes/record/{key}/").status_code == 404


@pytest.mark.parametrize("asked", ["?fate=held&page=9", "?fate=%00&page=x", "?fate=" + "a" * 3000])
def test_odd_questions_are_answered(owner: Client, redo: Job, asked: str) -> None:
    assert owner.get(ADDRESS + asked).status_code == 200


@pytest.mark.parametrize("size", [1, 7])
def test_record_takes_as_many_queries_at_any_size(
    owner: Client, shop: Shop, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    for _ in range(size):
        mine = boat()
        came(mine, on=HOME + timedelta(days=95), cause=repaired(mine, on=HOME))
    owner.get(ADDRESS)

    with django_assert_num_queries(8):
        owner.get(ADDRESS)

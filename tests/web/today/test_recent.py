"""What one touched last, from the activity chain."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.models import JobAssignment, Person
from shopapp.queries.recent import SHOWN, recent_page
from tests.factories import CustomerFactory, JobFactory
from tests.factories.invoices import drafted
from tests.web.shared.hostile import row_counts

ADDRESS = "/today/recent/"
SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def touch(*rows: object, by: Actor) -> None:
    for row in rows:
        activity.record([Entry(verb="edit", record=row, work_order=getattr(row, "work_order", None))], by=by)


def test_recent_shows_each_thing_once_newest_first(ilse: Person, by: By) -> None:
    job, anna = JobFactory(), CustomerFactory(name="Anna Berg")
    touch(job, anna, job.work_order.vessel, job.engine, anna, by=by(ilse))

    items = recent_page(ilse).items

    assert [(one.url_name, one.pk) for one in items] == [
        ("customers:detail", anna.pk),
        ("customers:engine", job.engine_id),
        ("customers:vessel", job.work_order.vessel_id),
        # a job is looked at on its visit
        ("work_orders:detail", job.work_order_id),
    ]
    assert items[0].words == "Anna Berg"


def test_bill_is_itself_and_not_its_visit(ilse: Person, by: By) -> None:
    bill = drafted(by=by(ilse))

    (first, *_rest) = recent_page(ilse).items

    assert (first.url_name, first.pk) == ("invoices:detail", bill.pk)


def test_recent_holds_nothing_of_another(ilse: Person, maren: Person, by: By) -> None:
    touch(CustomerFactory(), by=by(maren))

    assert recent_page(ilse).items == ()


def test_technician_sees_only_visits_that_are_theirs(tobiah: Person, by: By) -> None:
    kept, lost = (JobFactory(technician=tobiah) for _ in range(2))
    touch(kept, lost, kept.work_order.customer, by=by(tobiah))
    JobAssignment.objects.filter(job=lost).delete()

    assert [(one.url_name, one.pk) for one in recent_page(tobiah).items] == [
        ("work_orders:detail", kept.work_order_id)
    ]


@pytest.mark.parametrize("size", [1, 100])
def test_recent_takes_nine_queries_and_writes_nothing(
    ilse: Person,
    by: By,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client = signed_in(ilse)
    for _ in range(size):
        job = JobFactory()
        touch(job, job.engine, job.work_order.vessel, CustomerFactory(), by=by(ilse))
    drafted(by=by(ilse))
    before = row_counts()

    with django_assert_num_queries(9):
        response = client.get(ADDRESS, headers={"hx-request": "true"})

    assert response.content.decode().count("<li>") == min(4 * size + 1, SHOWN)
    assert row_counts() == before

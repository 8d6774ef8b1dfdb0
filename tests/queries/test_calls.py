"""Call slips on the screen: the most pressing first, what was done behind them."""

from datetime import timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.models import CallSlip, Person
from shopapp.queries.calls import call_page, calls_page, new_call_page
from tests.conftest import NOW
from tests.factories import CustomerFactory, WorkOrderFactory


def slip(ilse: Person, name: str, **fields: object) -> CallSlip:
    return CallSlip.objects.create(
        **{"name": name, "about": "A question", "taken_by": ilse, "taken_at": NOW} | fields
    )


def test_pressing_slips_come_first(ilse: Person) -> None:
    slip(ilse, "no moment")
    slip(ilse, "later", call_by_at=NOW + timedelta(hours=3))
    slip(ilse, "now", call_by_at=NOW)
    slip(ilse, "done", done_at=NOW, done_by=ilse, answer="Said yes")

    page = calls_page(now=NOW)

    assert [(one.name, one.is_due) for one in page.waiting] == [
        ("now", True),
        ("later", False),
        ("no moment", False),
    ]
    assert [(one.name, one.done_by, one.answer) for one in page.done] == [("done", "Ilse Brandt", "Said yes")]


def test_slip_names_what_it_belongs_to(ilse: Person, tobiah: Person) -> None:
    order = WorkOrderFactory(number="W-00007")
    slip(ilse, "Aud", work_order=order, customer=order.customer, for_person=tobiah, phone="+47 555 01")

    (one,) = calls_page(now=NOW).waiting

    assert (one.work_order, one.work_order_pk, one.customer_pk) == ("W-00007", order.pk, order.customer_id)
    assert (one.customer, one.for_person, one.taken_by) == (
        order.customer.name,
        "Tobiah Reyes",
        "Ilse Brandt",
    )
    assert one.phone_digits == "4755501"


@pytest.mark.parametrize("size", [1, 100])
def test_slips_take_two_queries(
    ilse: Person, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    order = WorkOrderFactory()
    for number in range(size):
        slip(ilse, f"caller {number}", work_order=order, customer=order.customer, for_person=ilse)
        slip(ilse, f"called {number}", done_at=NOW, done_by=ilse)

    with django_assert_num_queries(2):
        page = calls_page(now=NOW)

    assert (len(page.waiting), len(page.done)) == (size, min(size, 30))


def test_new_slip_knows_the_customer_of_the_visit(ilse: Person) -> None:
    order = WorkOrderFactory()

    page = new_call_page(customer=None, work_order=order.pk)

    assert page is not None
    assert (page.name, page.phone, page.customer_pk, page.work_order) == (
        order.customer.name,
        order.customer.phone,
        order.customer_id,
        order.number,
    )
    assert [one.name for one in page.people if one.pk == ilse.pk] == ["Ilse Brandt"]


def test_new_slip_about_something_missing_is_nothing(ilse: Person) -> None:
    anna = CustomerFactory()

    pages = [
        new_call_page(customer=999_999, work_order=None),
        new_call_page(customer=None, work_order=999_999),
        new_call_page(customer=anna.pk, work_order=999_999),
    ]

    assert pages == [None, None, None]


def test_form_of_a_slip_shows_what_was_said_by_whom(ilse: Person) -> None:
    anna = CustomerFactory(name="Anna Berg")

    page = call_page(slip(ilse, "Her husband", customer=anna))

    assert (page.name, page.customer, page.customer_pk) == ("Her husband", "Anna Berg", anna.pk)

"""Somebody rang: a slip is written, for anybody or for a known customer or visit."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from django.test import Client

from shopapp.models import CallSlip, Person
from tests.factories import CustomerFactory, WorkOrderFactory
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import row_counts

ADDRESS = "/calls/new/"
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {"name": "Aud Nilsen", "phone": "604 555 0190", "about": "When is the boat ready?"}


def test_new_slip_is_kept_on_the_shops_own_clock(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    typed = TYPED | {"call_by_at": "2026-06-02T14:30", "for_person": str(tobiah.pk)}

    response = signed_in(ilse).post(ADDRESS, typed | key())

    slip = CallSlip.objects.get()
    assert (response.status_code, slip.name, slip.about) == (302, "Aud Nilsen", "When is the boat ready?")
    # half past two in Vancouver
    assert slip.call_by_at == datetime(2026, 6, 2, 21, 30, tzinfo=UTC)
    assert (slip.for_person, slip.customer) == (tobiah, None)


def test_new_slip_sent_twice_is_one_slip(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(ilse), TYPED | key()

    answers = [client.post(ADDRESS, sent).status_code for _ in range(2)]

    assert (answers, CallSlip.objects.count()) == ([302, 302], 1)


def test_new_slip_of_a_visit_knows_the_customer(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    anna = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    order = WorkOrderFactory(customer=anna)
    address = f"{ADDRESS}?work_order={order.pk}"

    content = signed_in(ilse).get(address).content.decode()
    signed_in(ilse).post(address, TYPED | key())

    slip = CallSlip.objects.get()
    assert (content.count('value="Anna Berg"'), content.count('value="604 555 0142"')) == (1, 1)
    assert (slip.work_order, slip.customer, slip.name) == (order, anna, "Aud Nilsen")


def test_new_slip_of_a_customer_is_theirs(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    anna = CustomerFactory()

    signed_in(ilse).post(f"{ADDRESS}?customer={anna.pk}", TYPED | key())

    assert CallSlip.objects.get().customer == anna


@pytest.mark.parametrize(
    "query", ["customer=999999", "work_order=999999", "customer=x", "customer=", "work_order=" + "9" * 40]
)
def test_slip_about_something_missing_is_not_found(ilse: Person, signed_in: SignedIn, query: str) -> None:
    assert signed_in(ilse).get(f"{ADDRESS}?{query}").status_code == 404


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"name": " "}, "Who rang? is missing. Please fill it in."),
        ({"about": ""}, "What about? is missing. Please fill it in."),
        ({"about": "x" * 301}, "at most 300 characters (it has 301)"),
        ({"call_by_at": "tomorrow"}, "This is not a day and a time. Write it like 2026-06-30 14:30."),
        # this hour is left out when the clocks go forward in Vancouver
        ({"call_by_at": "2026-03-08T02:30"}, "Write a time before 02:00, or 03:00 or later."),
        ({"for_person": "999999"}, "Select a valid choice."),
    ],
)
def test_slip_that_is_not_right_keeps_what_was_typed(
    ilse: Person, signed_in: SignedIn, key: Key, change: dict[str, str], sentence: str
) -> None:
    before = row_counts()

    response = signed_in(ilse).post(ADDRESS, TYPED | change | key())

    content = response.content.decode()
    assert (response.status_code, sentence in content) == (422, True)
    assert content.count('value="604 555 0190"') == 1
    assert row_counts() == before


def test_new_slip_answers_any_text(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(ilse)

    statuses = set()
    for text in tried_values():
        for field in ("name", "phone", "about", "call_by_at", "for_person"):
            statuses.add(client.post(ADDRESS, TYPED | {field: text} | key()).status_code)
        CallSlip.objects.all().delete()

    assert statuses == {302, 422}

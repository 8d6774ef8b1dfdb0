"""The list of call slips."""

from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import CallSlip, Person
from tests.conftest import NOW
from tests.factories import WorkOrderFactory
from tests.web.shared.hostile import NASTY_NAMES, row_counts

ADDRESS = "/calls/"
SignedIn = Callable[[Person], Client]
Slips = Callable[..., CallSlip]


def test_index_shows_who_waits_and_how_to_reach_them(ilse: Person, signed_in: SignedIn, slip: Slips) -> None:
    order = WorkOrderFactory(number="W-00007")
    one = slip(phone="604 555 0190", work_order=order, customer=order.customer, call_by_at=NOW)
    before = row_counts()

    content = signed_in(ilse).get(ADDRESS).content.decode()

    for piece in (
        "1 person waits for a call",
        f'<a href="/customers/{order.customer_id}/">Aud Nilsen</a>',
        f'<a href="/work-orders/{order.pk}/">W-00007</a>',
        'href="tel:6045550190">604 555 0190</a>',
        "call now, was due 2 Jun 2026, 10:30",
        f'action="/calls/{one.pk}/close/"',
        f'href="/calls/{one.pk}/edit/"',
        "taken by Ilse Brandt",
    ):
        assert content.count(piece) == 1, piece
    assert row_counts() == before


def test_index_shows_what_was_called_back_lately(ilse: Person, signed_in: SignedIn, slip: Slips) -> None:
    one = slip(done_at=NOW, done_by=ilse, answer="Comes at four")

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert (content.count("Comes at four"), content.count(f'action="/calls/{one.pk}/reopen/"')) == (1, 1)
    assert content.count("Nobody waits for a call.") == 1


@pytest.mark.parametrize("size", [1, 100])
def test_index_takes_five_queries(
    ilse: Person,
    signed_in: SignedIn,
    slip: Slips,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client = signed_in(ilse)
    order = WorkOrderFactory()
    for _ in range(size):
        slip(work_order=order, customer=order.customer, for_person=ilse)
        slip(done_at=NOW, done_by=ilse, work_order=order)

    with django_assert_num_queries(5):
        response = client.get(ADDRESS)

    assert response.content.decode().count('<li class="slip') == size


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_slips_are_only_text_t13(ilse: Person, signed_in: SignedIn, slip: Slips, name: str) -> None:
    slip(name=name, about=name, phone=name[:40])
    slip(name=name, about=name, answer=name, done_at=NOW, done_by=ilse)

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert name not in content


def test_technician_sees_no_call_slips(tobiah: Person, signed_in: SignedIn, slip: Slips) -> None:
    slip()

    response = signed_in(tobiah).get(ADDRESS)

    assert (response.status_code, b"Aud Nilsen" in response.content) == (403, False)

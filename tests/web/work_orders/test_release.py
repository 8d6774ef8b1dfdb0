"""The owner lets a boat go before it is paid."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.work_orders import TellInput, tell_customer
from shopapp.models import Person, ToldHow, WorkOrder
from tests.factories.invoices import issued
from tests.web.work_orders.posts import sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
GO = {"gone_to": "Aud Nilsen", "reason": "pays on Friday"}


@pytest.fixture
def unpaid(ilse: Person, by: Callable[[Person], Actor]) -> WorkOrder:
    """A visit that is billed and told, with 72.80 owed."""
    visit = issued(by=by(ilse)).work_order
    return tell_customer(visit.pk, TellInput(how=ToldHow.PHONE), by=by(ilse))


def test_release_keeps_what_is_owed_and_by_whom(
    maren: Person, unpaid: WorkOrder, signed_in: SignedIn, key: Key
) -> None:
    client, address = signed_in(maren), f"/work-orders/{unpaid.pk}/release/"

    form = client.get(address).content.decode()
    answers = sent_twice(client, address, GO | key())

    unpaid.refresh_from_db()
    words = f"$72.80 is still owed by {unpaid.customer.name}. That stays owed after the boat has gone."
    assert (words in form, answers) == (True, [(302, f"/work-orders/{unpaid.pk}/")] * 2)
    assert (unpaid.stage, unpaid.released_by, unpaid.released_owing_minor) == ("gone", maren, 7_280)


def test_release_is_the_owners_alone(
    ilse: Person, maren: Person, unpaid: WorkOrder, signed_in: SignedIn, key: Key
) -> None:
    status = signed_in(ilse).post(f"/work-orders/{unpaid.pk}/release/", GO | key()).status_code
    found = [
        "/release/" in signed_in(one).get(f"/work-orders/{unpaid.pk}/").content.decode()
        for one in (ilse, maren)
    ]

    unpaid.refresh_from_db()
    assert (status, unpaid.stage, found) == (403, "ready", [False, True])

"""The desk says who pays a row."""

from collections.abc import Callable
from datetime import datetime
from html import escape

import pytest
from django.test import Client

from shopapp.models import PartUsed, Person
from tests.web.work_orders.extra_rows import address, bench, extra_row
from tests.web.work_orders.posts import answer_to_get, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {"payer": "shop", "payer_reason": "Our slip"}


@pytest.fixture
def gasket(tobiah: Person, now: datetime) -> PartUsed:
    return extra_row(tobiah, at=now)


def test_payer_is_done_once_and_leads_to_the_bench(
    gasket: PartUsed, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    answers = sent_twice(signed_in(ilse), address(gasket, "payer"), TYPED | key())

    gasket.refresh_from_db()
    changed = {"payer": "shop", "payer_reason": "Our slip"}
    assert answers == [(302, bench(gasket.job))] * 2
    assert {name: getattr(gasket, name) for name in changed} == changed


def test_payer_that_is_not_right_says_why(
    gasket: PartUsed, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    before = PartUsed.objects.values().get()

    response = signed_in(ilse).post(address(gasket, "payer"), {"payer": "shop"} | key())

    assert (response.status_code, escape("the reason, in a few words") in response.content.decode()) == (
        422,
        True,
    )
    assert PartUsed.objects.values().get() == before


@pytest.mark.parametrize("who", ["tobiah", "wen"])
def test_payer_is_not_for_everybody(
    *, request: pytest.FixtureRequest, gasket: PartUsed, signed_in: SignedIn, key: Key, who: str
) -> None:
    client = signed_in(request.getfixturevalue(who))

    response = client.post(address(gasket, "payer"), TYPED | key())

    assert response.status_code == 403


def test_payer_is_never_a_link(gasket: PartUsed, maren: Person, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(maren), address(gasket, "payer")) == (405, True)

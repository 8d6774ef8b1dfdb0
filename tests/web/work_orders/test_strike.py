"""A row that is wrong is struck out."""

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


@pytest.fixture
def gasket(tobiah: Person, now: datetime) -> PartUsed:
    return extra_row(tobiah, at=now)


def test_strike_is_done_once_and_leads_to_the_bench(
    gasket: PartUsed, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    answers = sent_twice(signed_in(tobiah), address(gasket, "strike"), {"reason": "Wrong boat"} | key())

    gasket.refresh_from_db()
    changed = {"struck_reason": "Wrong boat"}
    assert answers == [(302, bench(gasket.job))] * 2
    assert {name: getattr(gasket, name) for name in changed} == changed


def test_strike_that_is_not_right_says_why(
    gasket: PartUsed, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    before = PartUsed.objects.values().get()

    response = signed_in(tobiah).post(address(gasket, "strike"), {"reason": ""} | key())

    assert (
        response.status_code,
        escape("What is wrong with it? is missing.") in response.content.decode(),
    ) == (422, True)
    assert PartUsed.objects.values().get() == before


@pytest.mark.parametrize("who", ["wen"])
def test_strike_is_not_for_everybody(
    *, request: pytest.FixtureRequest, gasket: PartUsed, signed_in: SignedIn, key: Key, who: str
) -> None:
    client = signed_in(request.getfixturevalue(who))

    response = client.post(address(gasket, "strike"), {"reason": "Wrong boat"} | key())

    assert response.status_code == 404


def test_strike_is_never_a_link(gasket: PartUsed, maren: Person, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(maren), address(gasket, "strike")) == (405, True)

"""The owner bills what nobody agreed to, on their word."""

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
TYPED = {"is_on": "True", "override_reason": "He asked"}


@pytest.fixture
def gasket(tobiah: Person, now: datetime) -> PartUsed:
    return extra_row(tobiah, at=now)


def test_override_is_done_once_and_leads_to_the_bench(
    gasket: PartUsed, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    answers = sent_twice(
        signed_in(maren),
        address(gasket, "override"),
        TYPED | key(),
    )

    gasket.refresh_from_db()
    changed = {"override_reason": "He asked"}
    assert answers == [(302, bench(gasket.job))] * 2
    assert {name: getattr(gasket, name) for name in changed} == changed


def test_override_that_is_not_right_says_why(
    gasket: PartUsed, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    before = PartUsed.objects.values().get()

    response = signed_in(maren).post(address(gasket, "override"), {"is_on": "True"} | key())

    assert (response.status_code, escape("the reason, in a few words") in response.content.decode()) == (
        422,
        True,
    )
    assert PartUsed.objects.values().get() == before


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_override_is_not_for_everybody(
    *, request: pytest.FixtureRequest, gasket: PartUsed, signed_in: SignedIn, key: Key, who: str
) -> None:
    client = signed_in(request.getfixturevalue(who))

    response = client.post(address(gasket, "override"), TYPED | key())

    assert response.status_code == 403


def test_override_is_never_a_link(gasket: PartUsed, maren: Person, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(maren), address(gasket, "override")) == (405, True)

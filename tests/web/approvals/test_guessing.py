"""Who guesses links is turned away after some tries, finds nothing, and is told of once."""

import secrets

import pytest
from django.test import Client

from shopapp.models import Activity, Approval, MissCount
from shopapp.queries.misses import MOST_MISSES
from tests.web.approvals.conftest import Visitor


def guesses(count: int, *, browser: Client) -> list[tuple[int, bytes]]:
    answers = (browser.get(f"/approvals/enter/{secrets.token_urlsafe(32)}/") for _ in range(count))
    return [(answer.status_code, answer.content) for answer in answers]


@pytest.mark.parametrize("count", [200, pytest.param(10_000, marks=pytest.mark.soak)])
def test_random_tokens_are_turned_away_t06(visitor: Visitor, count: int) -> None:
    answers = guesses(count, browser=Client())

    assert [status for status, _ in answers] == [404] * MOST_MISSES + [429] * (count - MOST_MISSES)
    # the same bare page, to the byte
    assert len({page for _, page in answers}) == 1
    assert Activity.objects.filter(verb="many wrong links").count() == 1
    assert (MissCount.objects.get().misses, Approval.objects.count()) == (MOST_MISSES, 0)


def test_good_link_opens_beside_a_guesser_t06(visitor: Visitor) -> None:
    """A marina has one address for all who sit in it, and so has the shop's own Wi-Fi."""
    guesses(MOST_MISSES + 1, browser=Client())

    assert Client().get(f"/approvals/enter/{visitor.token}/").status_code == 302
    assert visitor.answers().status_code == 302


def test_miss_writes_nothing_once_turned_away(visitor: Visitor, django_assert_num_queries: object) -> None:
    guesses(MOST_MISSES, browser=Client())
    browser = Client()

    with django_assert_num_queries(3):
        answer = browser.get("/approvals/enter/unknown/")

    assert answer.status_code == 429


def test_forwarded_address_is_not_believed(visitor: Visitor) -> None:
    """Whoever guesses may say anything in a header."""
    for number in range(MOST_MISSES + 1):
        answer = Client(headers={"X-Forwarded-For": f"203.0.113.{number}"}).get("/approvals/enter/unknown/")

    assert answer.status_code == 429


def test_page_without_a_door_is_no_guess(visitor: Visitor) -> None:
    for _ in range(MOST_MISSES + 1):
        answer = Client().get("/approvals/decide/")

    assert (answer.status_code, MissCount.objects.count()) == (404, 0)

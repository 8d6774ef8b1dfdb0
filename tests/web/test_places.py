"""From where somebody asks: the header of a proxy counts only where the shop says that it has one."""

import logging

import pytest
from django.conf import LazySettings
from django.test import Client

from shopapp.actions.sign_ins import MOST_OF_A_PLACE
from shopapp.models import BrowserSession, MissCount, Person
from tests.factories import PASSWORD

ADDRESS = "/people/sign-in/"
PROXY = "127.0.0.1"


def place_noted(told: str | None) -> str:
    """The place that is remembered of a sign-in which came with this header."""
    client = Client(REMOTE_ADDR=PROXY, headers={} if told is None else {"x-forwarded-for": told})
    client.post(ADDRESS, {"username": "maren", "password": PASSWORD})
    return BrowserSession.objects.latest("seen_at", "pk").address


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("proxies", "told", "place"),
    [
        (0, None, PROXY),
        (0, "203.0.113.9", PROXY),
        (1, None, PROXY),
        (1, "203.0.113.9", "203.0.113.9"),
        # whoever asks may send such a header too: what the shop's own proxy wrote stands last
        (1, "198.51.100.1, 203.0.113.9", "203.0.113.9"),
        (1, "198.51.100.1,, 2001:db8::0:9 ", "2001:db8::9"),
        (1, "203.0.113.9, somebody", PROXY),
        (1, "", PROXY),
        (2, "198.51.100.1, 203.0.113.9, 10.0.0.5", "203.0.113.9"),
        (2, "10.0.0.5", PROXY),
    ],
)
def test_last_address_counts_only_behind_a_proxy(
    maren: Person, settings: LazySettings, proxies: int, told: str | None, place: str
) -> None:
    settings.PROXIES = proxies

    assert place_noted(told) == place


def misses(count: int, place: str) -> list[int]:
    """Wrong passwords for ever other names, sent through the proxy with another made-up place each time."""
    return [
        Client(REMOTE_ADDR=PROXY, headers={"x-forwarded-for": f"198.51.100.{number}, {place}"})
        .post(ADDRESS, {"username": f"{place} {number}", "password": "wrong-and-kelp-7"})
        .status_code
        for number in range(count)
    ]


@pytest.mark.django_db
def test_one_place_behind_a_proxy_is_limited_alone(maren: Person, settings: LazySettings) -> None:
    settings.PROXIES = 1
    MissCount.objects.all().delete()

    assert misses(MOST_OF_A_PLACE + 1, "203.0.113.9") == [422] * MOST_OF_A_PLACE + [429]
    assert misses(1, "203.0.113.10") == [422]


@pytest.mark.django_db
def test_made_up_places_help_nobody_without_a_proxy(maren: Person, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.INFO, logger="shopapp")

    assert misses(MOST_OF_A_PLACE + 1, "203.0.113.9")[-1] == 429
    assert "203.0.113.9" not in caplog.text

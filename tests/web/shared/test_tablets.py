"""What a PIN opens leads nowhere else: no link, form or field of the bench ends in a no."""

import re
from urllib.parse import urlsplit

from django.test import Client
from django.urls import resolve

from shopapp.web.shared.tablets import BENCH_PAGES
from tests.web.addresses import addresses
from tests.web.answers import browser
from tests.web.world import World

_LEADS = re.compile(r"\s(?:href|action|hx-get|hx-post|data-touch|data-lock)=\"(/[^\"#]*)")
OUTSIDE = {"devices:lock", "devices:touch", "devices:leave", "devices:unlock", "service_worker:manifest"}


def led_to(client: Client, path: str) -> set[str]:
    """The views to which a page leads."""
    found = _LEADS.findall(client.get(path).content.decode(errors="replace"))
    return {resolve(urlsplit(one).path).view_name for one in found if not one.startswith("/static/")}


def test_bench_leads_to_the_bench_alone(world: World) -> None:
    client = browser("owner by PIN", world)
    paths = {
        one.name: one.path(world.own.get(one.kind, "")) for one in addresses() if one.name in BENCH_PAGES
    }

    beyond = {name: led_to(client, path) - BENCH_PAGES - OUTSIDE for name, path in paths.items()}

    assert {name: views for name, views in beyond.items() if views} == {}
    assert len(led_to(client, paths["work_orders:bench"])) > 10

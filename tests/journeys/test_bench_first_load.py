"""What the bench weighs on a slow connection: every byte from the shop's server to the tablet is counted."""

import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from shopapp.models import Person, Stage
from shopapp.web.shared.tablets import cookie_name
from tests.factories.devices import enrolled
from tests.factories.jobs import agreed_job
from tests.journeys.conftest import Watched
from tests.journeys.servers import shop_server
from tests.journeys.tablets import give_pin, wait_until_kept
from tests.journeys.wires import Wire

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MOST_BYTES = 150_000
# as it stands in the shop: files named by what is in them, and compressed
IN_THE_SHOP = {
    "SHOPAPP_PRODUCTION": "1",
    "SHOPAPP_HTTPS": "0",
    "SHOPAPP_SECRET_KEY": "s" * 50,
    "SHOPAPP_CHAIN_KEY": "c" * 50,
}


@pytest.fixture
def wire(settings: Any, transactional_db: None) -> Iterator[Wire]:
    with shop_server(settings, **IN_THE_SHOP) as server:
        wire = Wire(server.port)
        yield wire
        wire.close()


def new_tablet(window: Watched, *, owner: Person) -> Watched:
    """A tablet that has never been to this address: nothing of the shop is in its browser yet."""
    token = enrolled(owner, at=timezone.now())[1]
    cookie = {"name": cookie_name(), "value": token, "domain": "127.0.0.1", "path": "/"}
    window.page.context.add_cookies([cookie])
    return window


def test_first_load_of_the_bench_is_light(
    open_window: Callable[..., Watched], wire: Wire, tobiah: Person, maren: Person
) -> None:
    """From "who is working?" to a job that can be read without a network; then the same page once more."""
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    tablet = new_tablet(open_window(768, 1024, url=wire.url, has_touch=True), owner=maren)
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=2)
    first, requests = wire.down, len(wire.asked)
    wire.forget()
    with tablet.page.expect_response("**/bench/state/"):
        tablet.page.goto(f"/bench/job/{job.pk}/")
    expect(tablet.page.locator("#bench-unsent [data-count]")).to_have_text("0")

    sys.stdout.write(f"\nfirst {first:,} bytes in {requests} requests; once more {wire.down:,} bytes\n")
    # one round trip brings all that is needed; the shop's clock is asked for afterwards
    assert wire.asked == [f"/bench/job/{job.pk}/", "/bench/state/"]
    assert first < MOST_BYTES
    assert tablet.take_troubles() == []

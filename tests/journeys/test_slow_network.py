"""The pages that matter most, opened first over a slow network: early to read, and they stay put.

1.6 Mbit/s down and 150 ms there and back: the "slow 4G" of web tools. Largest paint under 2.5 s and a shift
under 0.1: https://web.dev/articles/lcp and https://web.dev/articles/cls. Bytes are counted unpacked, as this
server sends them. Seconds belong to a quiet machine; the everyday run counts what each page loads.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from django.utils import timezone

from tests.journeys.conftest import Watched
from tests.journeys.test_every_page import let_in, pages
from tests.web.world import World, found_world

pytestmark = [pytest.mark.browser, pytest.mark.soak, pytest.mark.django_db(transaction=True)]

SLOW = {"offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 90_000}
LATEST_PAINT, MOST_SHIFT = 2_500, 0.1
PAGES = (
    ("front desk", "today:index", 1280),
    ("owner", "work_orders:detail", 1280),
    ("technician", "work_orders:bench", 768),
    ("customer link", "approvals:decide", 360),
)
MEASURE = """() => new Promise((tell) => {
    const seen = { paint: 0, shift: 0 };
    const watch = (type, note) =>
        new PerformanceObserver((list) => list.getEntries().forEach(note)).observe({ type, buffered: true });
    watch("largest-contentful-paint", (entry) => (seen.paint = entry.startTime));
    watch("layout-shift", (entry) => { if (!entry.hadRecentInput) seen.shift += entry.value; });
    const loaded = ["navigation", "resource"].flatMap((kind) => performance.getEntriesByType(kind));
    setTimeout(() => tell({
        ...seen,
        requests: loaded.length,
        bytes: loaded.reduce((sum, entry) => sum + entry.transferSize, 0),
    }), 300);
})"""


@dataclass(frozen=True, kw_only=True)
class Opened:
    """What a first visit over the slow network came to."""

    name: str
    paint: float
    shift: float
    requests: int
    bytes: int


def opened(window: Watched, name: str, path: str) -> Opened:
    page = window.page
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.emulateNetworkConditions", SLOW)
    page.goto(path, wait_until="networkidle")
    return Opened(name=name, **page.evaluate(MEASURE))


def test_first_visit_is_early_to_read(live_server: object, open_browser: Callable[..., Watched]) -> None:
    world: World = found_world(timezone.now())
    found = []
    for role, name, width in PAGES:
        _, path = next(pages(role, world, is_wanted=lambda _, other, name=name: other == name))
        window = open_browser(width, 900, has_touch=width < 1280, is_mobile=width < 1280)
        let_in(window, world, role)
        one = opened(window, name, path)
        found.append(one)
        sys.stdout.write(
            f"{one.name}: {one.requests} requests, {one.bytes:,} bytes, {one.paint:.0f} ms, {one.shift:.3f}\n"
        )

    late = [one for one in found if not 0 < one.paint < LATEST_PAINT or one.shift > MOST_SHIFT]
    assert late == []

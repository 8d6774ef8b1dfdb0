"""A real Chromium in front of a real server; every page is watched for errors and broken rules."""

import os
import shutil
import sys
from collections.abc import Callable, Generator, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from shopapp.models import Person
from tests.journeys.servers import ShopServer, shop_server
from tests.processes import surroundings

# Playwright's loop runs in this thread, and Django would take that for an asynchronous caller
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

# a busy machine is no slow page; what is too slow for a person is measured elsewhere
PATIENCE = 30_000
expect.set_options(timeout=PATIENCE)

HAS_FAILED = pytest.StashKey[bool]()
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    # what is in order is not listed node by node: that takes a third of the time
    "resultTypes": ["violations"],
}
ALREADY_READ: set[tuple[str, int, str]] = set()
KINDS_OF_ELEMENT = """() => [...new Set([...document.querySelectorAll("body, body *")].map(
    (one) => [one.tagName, one.className, one.disabled, one.type, one.getAttribute("role")].join(" ")
))]"""
# on a busy machine Chromium paints late, and says of a font that is in use that nobody used it
LATE_FONT = "was preloaded using link preload but not used"
PLAIN_FONT_IS_USED = """() => document.fonts.ready.then((fonts) => [...fonts].some(
    (face) => face.family.includes("Atkinson Next") && face.weight === "400" && face.status === "loaded"
))"""
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-gpu-rasterization",
]


def chromium_path() -> str:
    """Debian's Chromium; the run fails rather than skips without one."""
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        raise AssertionError("No Chromium: apt-get install chromium")
    return found


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        yield running
        running.close()


class Watched:
    """A page that remembers what went wrong in it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.troubles: list[str] = []
        page.on("console", lambda message: self._hear(message.type, message.text))
        page.on("pageerror", lambda error: self.troubles.append(f"error: {error}"))
        page.on("request", lambda request: self._other_host(request.url))

    def _hear(self, kind: str, text: str) -> None:
        if kind in ("error", "warning") and "status of 422" not in text:
            self.troubles.append(f"{kind} at {self.page.url}: {text}")

    def _other_host(self, url: str) -> None:
        if not url.startswith(("http://localhost", "http://127.0.0.1", "data:", "blob:")):
            self.troubles.append(f"another host: {url}")

    def check(self) -> None:
        """Nothing was logged, axe finds nothing, and nothing sticks out sideways."""
        # a click returns when the next page is on its way: what it consists of isn't there yet
        self.page.wait_for_load_state()
        self.read_by_axe()
        too_wide = self.page.evaluate(
            "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        )
        if too_wide:
            self.troubles.append(f"sideways scroll at {self.page.url}")
        assert self.take_troubles() == []

    def take_troubles(self) -> list[str]:
        """What went wrong since this was asked last."""
        found, self.troubles = self.troubles, []
        if self.page.evaluate(PLAIN_FONT_IS_USED):
            found = [trouble for trouble in found if LATE_FONT not in trouble]
        return found

    def read_by_axe(self) -> None:
        """A page that shows what no page of its surface and width did; SHOPAPP_ALL_VALUES=1: every page."""
        page = self.page
        surface = page.evaluate("document.documentElement.className")
        kinds = {(surface, page.viewport_size["width"], kind) for kind in page.evaluate(KINDS_OF_ELEMENT)}
        if kinds <= ALREADY_READ and not os.environ.get("SHOPAPP_ALL_VALUES"):
            return
        found = Axe().run(page, options=RULES)
        self.troubles += [
            f"axe at {page.url}: {v['id']} {v['nodes'][0]['html'][:160]}"
            for v in found.response["violations"]
        ]
        ALREADY_READ.update(kinds)

    def picture(self, name: str) -> None:
        """Keep a screenshot where SHOPAPP_PICTURES says, for human eyes."""
        folder = os.environ.get("SHOPAPP_PICTURES")
        if folder:
            Path(folder).mkdir(parents=True, exist_ok=True)
            width = self.page.viewport_size["width"]
            self.page.screenshot(path=f"{folder}/{name}-{width}.png", full_page=True)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Let the windows know at the end whether the journey went wrong."""
    report = yield
    if report.when == "call":
        item.stash[HAS_FAILED] = report.failed
    return report


def last_seen(page: Page) -> str:
    """Where a journey stopped, and the words that stood there."""
    return f"\n--- {page.url}\n{page.locator('body').inner_text(timeout=5_000)[:1500]}\n"


@pytest.fixture
def open_window(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Callable[..., Watched]]:
    """Opens a fresh browser window of a width at an address; closes them all afterwards."""
    contexts: list[BrowserContext] = []

    def window(width: int, height: int = 900, *, url: str, **options: object) -> Watched:
        context = browser.new_context(viewport={"width": width, "height": height}, base_url=url, **options)
        context.set_default_timeout(PATIENCE)
        contexts.append(context)
        return Watched(context.new_page())

    yield window
    for context in contexts:
        if request.node.stash.get(HAS_FAILED, False):
            sys.stdout.write("".join(last_seen(page) for page in context.pages))
        context.close()


@pytest.fixture
def open_browser(open_window: Callable[..., Watched], live_server: object) -> Callable[..., Watched]:
    """Opens a window in front of the test's own server."""
    return partial(open_window, url=live_server.url)


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch, transactional_db: None, settings: Any) -> Iterator[ShopServer]:
    """The shop's own server, which may be killed."""
    for name, value in surroundings().items():
        monkeypatch.setenv(name, value)
    with shop_server(settings) as server:
        yield server


@pytest.fixture
def open_tablet(open_window: Callable[..., Watched], server: ShopServer) -> Callable[..., Watched]:
    """Opens a window in front of the shop's own server."""
    return partial(open_window, url=server.url)


@pytest.fixture
def crew(tobiah: Person, wen: Person) -> list[Person]:
    """Both technicians."""
    return [tobiah, wen]

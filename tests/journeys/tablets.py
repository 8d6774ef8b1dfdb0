"""An enrolled tablet in a real browser, and what it keeps by itself."""

import json
from typing import Any
from urllib.parse import urlsplit

from django.utils import timezone
from playwright.sync_api import Page, expect

from shopapp.models import Job, Person
from shopapp.web.shared.tablets import cookie_name
from tests.factories.devices import PIN, enrolled, with_pin
from tests.journeys.conftest import PATIENCE, Watched

# everything that scripts of this address have put into the browser
DUMP = """async () => {
  const plain = (value) => {
    if (value instanceof ArrayBuffer) return `${value.byteLength} bytes`;
    if (value instanceof CryptoKey) return { key: value.type, isReadable: value.extractable };
    if (Array.isArray(value)) return value.map(plain);
    if (value && typeof value === "object") {
      return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, plain(one)]));
    }
    return value;
  };
  const opened = (request) => new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  const found = { databases: {}, caches: {}, local: { ...localStorage }, session: { ...sessionStorage } };
  for (const { name } of await indexedDB.databases()) {
    const db = await opened(indexedDB.open(name));
    found.databases[name] = {};
    for (const store of db.objectStoreNames) {
      const rows = db.transaction(store).objectStore(store);
      found.databases[name][store] = plain(await opened(rows.getAll()));
    }
    db.close();
  }
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    found.caches[name] = {};
    for (const request of await cache.keys()) {
      found.caches[name][new URL(request.url).pathname] = await (await cache.match(request)).text();
    }
  }
  return JSON.stringify(found);
}"""


def make_tablet(window: Watched, *, owner: Person, name: str = "Bench tablet 1") -> Watched:
    """The window is an enrolled tablet at which nobody works."""
    token = enrolled(owner, at=timezone.now(), name=name)[1]
    window.page.goto("/people/sign-in/")
    host = str(urlsplit(window.page.url).hostname)
    cookie = {"name": cookie_name(), "value": token, "domain": host, "path": "/"}
    window.page.context.add_cookies([cookie])
    return window


def give_pin(window: Watched, person: Person) -> None:
    """From the picker to the own jobs, whose pages are then kept."""
    with_pin(person, at=timezone.now())
    page = window.page
    page.goto("/devices/who/")
    page.get_by_role("link", name=person.name).click()
    for digit in PIN:
        page.get_by_role("button", name=digit, exact=True).click()
    expect(page.get_by_role("heading", name="My jobs")).to_be_visible()


KEPT = """async (name) => (await caches.has(name)) ? (await (await caches.open(name)).keys()).length : 0"""


def wait_until_kept(window: Watched, person: Person, *, pages: int) -> None:
    """So many pages are kept for whoever works here."""
    for _ in range(PATIENCE // 100):
        if window.page.evaluate(KEPT, f"bench-pages-{person.pk}") >= pages:
            return
        window.page.wait_for_timeout(100)
    raise AssertionError(f"{pages} pages are not kept")


def dump(window: Watched) -> dict[str, Any]:
    """What the browser keeps of this address."""
    found: dict[str, Any] = json.loads(window.page.evaluate(DUMP))
    return found


def unsent(window: Watched, count: int) -> None:
    """The number at the top of the page."""
    expect(window.page.locator("#bench-unsent [data-count]")).to_have_text(str(count))


def open_job(page: Page, job: Job) -> None:
    page.goto(f"/bench/job/{job.pk}/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def log_note(page: Page, words: str) -> None:
    """Through the panel, until it says so."""
    page.get_by_role("link", name="Note", exact=True).click()
    page.locator("#log-note").get_by_role("textbox").fill(words)
    page.get_by_role("button", name="Log the note").click()
    expect(page.locator("#bench-logged")).to_contain_text(words)

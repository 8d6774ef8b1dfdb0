"""How it ends at a tablet: signed out, taken from the shop, two pages at once, too long without a network."""

from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.devices import end_device
from shopapp.models import Device, JobNote, Person, Stage, TabletEntry
from tests.factories.jobs import agreed_job
from tests.journeys.conftest import Watched
from tests.journeys.tablets import dump, give_pin, log_note, make_tablet, open_job, unsent, wait_until_kept

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WIPED = "async () => !(await caches.keys()).some((name) => name.startsWith('bench-pages-'))"
# as if it had been logged so many hours ago
AGE = """(hours) => new Promise((done) => {
  const opening = indexedDB.open("shop-bench");
  opening.onsuccess = () => {
    const tx = opening.result.transaction("entries", "readwrite");
    const rows = tx.objectStore("entries");
    rows.getAll().onsuccess = ({ target }) => {
      for (const row of target.result) rows.put({ ...row, at: row.at - hours * 3600_000 });
    };
    tx.oncomplete = () => { opening.result.close(); done(); };
  };
})"""


def menu(page: Page, button: str) -> None:
    page.locator(".bench-head .menu summary").click()
    page.get_by_role("button", name=button).click()


@pytest.fixture
def out_of_reach(open_browser: Callable[..., Watched], tobiah: Person, maren: Person) -> Watched:
    """A tablet on which Tobiah has logged a note that the shop has not got."""
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    tablet = make_tablet(open_browser(360, 800, has_touch=True), owner=maren)
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=2)
    tablet.page.context.set_offline(True)
    open_job(tablet.page, job)
    log_note(tablet.page, "Groove under the seal")
    unsent(tablet, 1)
    return tablet


def kept_of(tablet: Watched) -> tuple[int, int, int]:
    """How many pages, keys and entries the browser still has."""
    found = dump(tablet)
    stores = found["databases"]["shop-bench"]
    pages = sum(len(rows) for name, rows in found["caches"].items() if name.startswith("bench-pages-"))
    return pages, len(stores["keys"]), len(stores["entries"])


def test_done_for_today_keeps_only_what_was_not_sent(out_of_reach: Watched, tobiah: Person) -> None:
    page = out_of_reach.page
    menu(page, "Done for today: forget me here")
    expect(page.get_by_role("heading", name="No connection")).to_be_visible()
    assert kept_of(out_of_reach) == (0, 0, 1)

    page.context.set_offline(False)
    give_pin(out_of_reach, tobiah)
    unsent(out_of_reach, 0)
    assert [(one.text, one.written_by) for one in JobNote.objects.all()] == [
        ("Groove under the seal", tobiah)
    ]
    assert TabletEntry.objects.get().state == "stored"


def test_ended_tablet_forgets_the_shop_but_not_the_entry(out_of_reach: Watched, maren: Person) -> None:
    by = Actor(scope=Scope.DESK, person=maren, at=timezone.now())
    end_device(Device.objects.get().pk, by=by)
    page = out_of_reach.page
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#bench-stranger")).to_be_visible()
    page.wait_for_function(
        "async () => !(await caches.keys()).some((name) => name.startsWith('bench-pages-'))"
    )

    assert kept_of(out_of_reach) == (0, 0, 1)
    assert TabletEntry.objects.count() == 0


def test_two_pages_of_a_tablet_send_once(out_of_reach: Watched) -> None:
    context = out_of_reach.page.context
    other = context.new_page()
    other.goto("/bench/")
    expect(other.locator("#bench-unsent [data-count]")).to_have_text("1")
    sent = []
    context.on("request", lambda one: sent.append(one.url) if one.url.endswith("/bench/entries/") else None)
    context.set_offline(False)
    for page in (out_of_reach.page, other):
        page.evaluate("window.dispatchEvent(new Event('online'))")
    for page in (out_of_reach.page, other):
        expect(page.locator("#bench-unsent [data-count]")).to_have_text("0")

    assert JobNote.objects.count() == TabletEntry.objects.count() == len(sent) == 1


def test_more_than_a_day_without_the_shop_is_said_aloud(out_of_reach: Watched) -> None:
    page = out_of_reach.page
    expect(page.locator("#bench-too-long")).to_be_hidden()
    page.evaluate(AGE, 25)
    page.reload()

    expect(page.locator("#bench-too-long")).to_be_visible()
    out_of_reach.read_by_axe()
    assert [one for one in out_of_reach.take_troubles() if one.startswith("axe")] == []

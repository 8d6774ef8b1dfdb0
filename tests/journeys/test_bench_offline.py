"""A technician logs without a network, comes back into reach, and each entry is in the shop once."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from shopapp.models import JobNote, PartUsed, Person, Stage, TabletEntry, TimeEntry
from tests.factories.jobs import agreed_job
from tests.journeys.conftest import Watched
from tests.journeys.tablets import dump, give_pin, log_note, make_tablet, open_job, unsent, wait_until_kept

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def log_part(page: Page, *, what: str, quantity: str) -> None:
    page.get_by_role("link", name="Part", exact=True).click()
    panel = page.locator("#log-part")
    panel.get_by_label("Or what it is").fill(what)
    panel.get_by_label("How many").fill(quantity)
    panel.get_by_role("button", name="Log the part").click()
    expect(page.locator("#bench-logged")).to_contain_text(what)


def log_hours(page: Page, *, hours: str) -> None:
    page.get_by_role("link", name="Hours", exact=True).click()
    page.locator("#log-time").get_by_label(re.compile("^Hours")).fill(hours)
    page.get_by_role("button", name="Log the hours").click()
    expect(page.locator("#bench-logged")).to_contain_text("Hours")


def is_stored_once() -> None:
    """Four entries in the shop's books, in the order in which the tablet counted them."""
    assert PartUsed.objects.get(description="Thrust washer").quantity_milli == 2_000
    assert JobNote.objects.get().text == "Groove under the seal"
    assert TimeEntry.objects.get().minutes == 60
    assert PartUsed.objects.exclude(plan_line=None).count() == 1
    assert sorted(TabletEntry.objects.values_list("sequence", flat=True)) == [1, 2, 3, 4]
    assert set(TabletEntry.objects.values_list("state", flat=True)) == {"stored"}


def send_now(page: Page) -> None:
    page.locator("#bench-unsent").click()
    page.get_by_role("button", name="Send now").click()


def test_entries_made_offline_are_stored_once(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    tablet = make_tablet(open_browser(768, 1024, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=2)

    page.context.set_offline(True)
    open_job(page, job)
    log_part(page, what="Thrust washer", quantity="2")
    log_note(page, "Groove under the seal")
    log_hours(page, hours="1")
    unsent(tablet, 3)
    page.reload()
    unsent(tablet, 3)
    page.get_by_role("button", name=re.compile("^Used")).first.click()
    unsent(tablet, 4)
    assert TabletEntry.objects.count() == 0

    page.context.set_offline(False)
    send_now(page)
    unsent(tablet, 0)
    tablet.take_troubles()
    tablet.check()
    page.reload()
    is_stored_once()
    kept = dump(tablet)["databases"]["shop-bench"]["keys"]
    assert [key["secret"] for key in kept] == [{"key": "secret", "isReadable": False}]

"""The sheet of keys opens by key and by button, stays out of what is typed, and can be switched off."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from shopapp.models import Person
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def sheet(page: Page) -> Locator:
    return page.get_by_role("dialog", name="Keys")


def test_sheet_of_keys(open_browser: Callable[..., Watched], ilse: Person) -> None:
    desk = open_browser(1280)
    page = desk.page
    steps.sign_in(desk, ilse)

    page.keyboard.press("?")
    expect(sheet(page)).to_be_visible()
    steps.seen(desk, "keys")
    page.keyboard.press("Escape")
    expect(sheet(page)).to_be_hidden()
    page.keyboard.press("/")
    page.keyboard.type("?")
    expect(page.locator("#find-q")).to_have_value("?")
    expect(sheet(page)).to_be_hidden()

    page.get_by_role("button", name="Keys").click()
    page.get_by_label("The single keys").select_option(label="are off on this device")
    page.get_by_role("button", name="Close").click()
    page.reload()
    page.keyboard.press("?")
    page.keyboard.press("/")
    expect(sheet(page)).to_be_hidden()
    expect(page.locator("#find-q")).not_to_be_focused()


def test_part_that_fails_says_why(open_browser: Callable[..., Watched], ilse: Person) -> None:
    """No connection, and a breakdown: what was typed stays, and the words fit."""
    desk = open_browser(360, 800)
    page, notice = desk.page, desk.page.locator("#request-failed")
    steps.sign_in(desk, ilse)
    desk.check()

    page.context.set_offline(True)
    expect(page.get_by_text("This device has no connection.")).to_be_visible()
    page.locator("#find-q").fill("Kitti")
    expect(page.get_by_text("The shop's computer did not answer.")).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("This device has no connection.")).to_be_hidden()

    page.route("**/find/**", lambda route: route.fulfill(status=500, headers={"X-Reference": "7KQM-4F2X"}))
    page.locator("#find-q").fill("Kittiwake")
    expect(notice).to_contain_text("7KQM-4F2X")
    expect(page.get_by_text("The shop's computer did not answer.")).to_be_hidden()
    expect(page.locator("#find-q")).to_have_value("Kittiwake")
    desk.take_troubles()

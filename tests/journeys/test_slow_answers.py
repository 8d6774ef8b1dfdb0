"""What takes longer than a second says so, and stops when the answer comes; help opens without a mouse."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from shopapp.models import Person, Stage
from tests.factories.jobs import job_at
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# an answer that never comes: the browser stays where it is after the page has heard of it
NO_ANSWER = "(deed) => addEventListener(deed, (event) => event.preventDefault())"


def notice(page: Page) -> Locator:
    return page.locator("#working")


def test_slow_form_says_so(open_browser: Callable[..., Watched], ilse: Person) -> None:
    desk = open_browser(360, 800, has_touch=True)
    page = desk.page
    steps.sign_in(desk, ilse)
    page.goto("/calls/new/")
    page.evaluate(NO_ANSWER, "submit")

    page.get_by_role("button", name="Keep the slip").click()
    expect(notice(page)).to_be_hidden()
    expect(notice(page)).to_have_text("Working on it. Please keep this page open.")
    expect(notice(page)).to_be_visible()
    desk.check()
    desk.picture("working")

    page.evaluate("dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }))")
    expect(notice(page)).to_be_hidden()


def test_slow_paper_says_so_and_help_opens_without_a_mouse(
    open_browser: Callable[..., Watched], ilse: Person
) -> None:
    desk = open_browser(768, 1024, has_touch=True)
    page, job = desk.page, job_at(Stage.HERE)
    steps.sign_in(desk, ilse)
    page.goto(f"/work-orders/{job.work_order_id}/")
    words = page.get_by_text("A hold says what the work waits for")

    page.locator("#work-order-holds .help > summary").tap()
    expect(words).to_be_visible()
    desk.check()
    desk.picture("help")
    page.keyboard.press("Enter")
    expect(words).to_be_hidden()

    page.evaluate(NO_ANSWER, "click")
    page.get_by_role("link", name="Paper for the wall").click()
    expect(notice(page)).to_have_text("Making the paper. Please keep this page open.")

"""Long text outlives a reload, a mistake and an ended session; sending and signing out forget it."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from shopapp.models import BrowserSession, Job, Person, Stage
from tests.factories.jobs import job_at
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CAUSE = "Fishing line has cut the seal.\nA groove can be felt under it."
KEPT = "() => Object.entries(localStorage).filter(([key]) => key.startsWith('shop-words:'))"


@pytest.fixture
def job(tobiah: Person) -> Job:
    return job_at(Stage.DIAGNOSIS, technician=tobiah)


def offer(page: Page) -> Locator:
    return page.locator("main [data-kept-words]")


def findings(page: Page, job: Job) -> Locator:
    page.goto(f"/work-orders/job/{job.pk}/findings/")
    return page.get_by_label("What is really wrong")


def save(page: Page, *, complaint: str) -> None:
    page.get_by_label("What the customer says is wrong").fill(complaint)
    page.get_by_role("button", name="Save the findings").click()


def test_words_outlive_a_reload(open_browser: Callable[..., Watched], tobiah: Person, job: Job) -> None:
    bench = open_browser(768, 1024, has_touch=True)
    page = bench.page
    steps.sign_in(bench, tobiah)
    cause = findings(page, job)
    expect(offer(page)).to_have_count(0)
    cause.fill(CAUSE)

    page.reload()
    expect(offer(page)).to_contain_text("Fishing line has cut the seal.")
    bench.check()
    bench.picture("kept-words")
    expect(cause).to_have_value("")
    offer(page).get_by_role("button", name="Put it back").click()
    expect(cause).to_have_value(CAUSE)
    expect(cause).to_be_focused()


def test_words_outlive_mistake_and_ended_session(
    open_browser: Callable[..., Watched], tobiah: Person, job: Job
) -> None:
    bench = open_browser(768, 1024, has_touch=True)
    page = bench.page
    steps.sign_in(bench, tobiah)
    cause = findings(page, job)
    cause.fill(CAUSE)

    save(page, complaint="")
    expect(page.locator("#error-summary")).to_be_focused()
    expect(cause).to_have_value(CAUSE)
    BrowserSession.objects.all().delete()
    save(page, complaint="Milky oil")
    page.wait_for_url("**/people/sign-in/**")
    steps.sign_in(bench, tobiah)
    cause = findings(page, job)
    offer(page).get_by_role("button", name="Put it back").click()
    expect(cause).to_have_value(CAUSE)
    save(page, complaint="Milky oil")
    page.wait_for_url(f"**/work-orders/{job.work_order_id}/**")

    assert page.evaluate(KEPT) == []
    job.refresh_from_db()
    assert (job.complaint, job.cause) == ("Milky oil", CAUSE)
    findings(page, job)
    expect(offer(page)).to_have_count(0)


def test_words_are_one_persons_and_go_at_sign_out(
    open_browser: Callable[..., Watched], tobiah: Person, ilse: Person, job: Job
) -> None:
    shared = open_browser(1280)
    page = shared.page
    steps.sign_in(shared, tobiah)
    findings(page, job).fill(CAUSE)
    page.context.clear_cookies()

    steps.sign_in(shared, ilse)
    cause = findings(page, job)
    expect(offer(page)).to_have_count(0)
    cause.fill("Gasket reused.")
    page.reload()
    offer(page).get_by_role("button", name="Throw it away").click()
    expect(offer(page)).to_have_count(0)
    cause.fill("Gasket reused.")
    assert len(page.evaluate(KEPT)) == 2

    page.locator("details.menu > summary").click()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/people/sign-in/**")
    assert page.evaluate(KEPT) == []


def test_only_long_text_is_kept(open_browser: Callable[..., Watched], ilse: Person) -> None:
    """A tablet keeps no names, telephones, addresses and prices."""
    desk = open_browser(1280)
    page = desk.page
    steps.sign_in(desk, ilse)
    page.goto("/arrivals/new/")
    page.get_by_label("Name", exact=True).fill("Aud Nilsen")
    page.get_by_label("Telephone", exact=True).fill("604 555 0190")
    page.get_by_label("What is wrong, in the customer's words").fill("Gear oil looks milky")
    page.get_by_label("What was seen on it?").fill("Scratch to port")

    [(_, kept)] = page.evaluate(KEPT)

    assert [word in kept for word in ("Gear oil", "Scratch", "Aud", "0190")] == [True, True, False, False]

"""What people do on many journeys, one step of the path each; every page passed is watched."""

import io
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from shopapp.models import Job, Person, QuoteRevision, WorkOrder
from tests.factories import PASSWORD
from tests.journeys.conftest import Watched


def sign_in(window: Watched, person: Person) -> None:
    page = window.page
    page.goto("/people/sign-in/")
    page.get_by_label("Sign-in name").fill(person.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def desk_and_bench(
    open_browser: Callable[..., Watched], *, desk: Person, bench: Person
) -> tuple[Watched, Watched]:
    """The front desk at its screen, a technician with the tablet; both signed in."""
    windows = open_browser(1280), open_browser(768, 1024)
    sign_in(windows[0], desk)
    sign_in(windows[1], bench)
    return windows


@contextmanager
def days_later(days: int) -> Iterator[None]:
    """The shop's clock is some days ahead; whoever was signed in has to sign in again."""
    now = timezone.now

    def then() -> datetime:
        return now() + timedelta(days=days)

    with pytest.MonkeyPatch.context() as clock:
        clock.setattr(timezone, "now", then)
        yield


def seen(window: Watched, name: str) -> None:
    """The page is fit to use, and kept as a picture where one is wanted."""
    window.check()
    window.picture(name)


def find_boat(page: Page, words: str) -> None:
    """From anywhere by the keyboard to the first answer below the boat's heading."""
    page.keyboard.press("/")
    page.keyboard.type(words)
    page.wait_for_selector("#find-answers a")


def known_boat_arrives(page: Page, words: str, *, complaint: str) -> None:
    """A known boat is found by the keyboard; the form of its arrival is open, the complaint written."""
    find_boat(page, words)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_url("**/arrivals/new/?vessel=*")
    page.get_by_label("What is wrong, in the customer's words").fill(complaint)
    page.get_by_label("Tobiah Reyes").check()


def open_work_order(page: Page) -> WorkOrder:
    """The form of the arrival is sent; the boat is here."""
    page.get_by_role("button", name="Open work order").click()
    expect(page.get_by_role("link", name="Print the tag")).to_be_visible()
    return WorkOrder.objects.latest("pk")


def open_visit(window: Watched, work_order: WorkOrder) -> Page:
    window.page.goto(f"/work-orders/{work_order.pk}/")
    return window.page


def find_the_cause(window: Watched, job: Job, *, cause: str, correction: str) -> None:
    """The technician begins to look at a job, and writes down what is wrong."""
    page = open_visit(window, job.work_order)
    page.locator(f"#job-{job.pk}").get_by_role("button", name="Start the diagnosis").click()
    page.get_by_role("link", name="Write the findings").first.click()
    page.get_by_label("What is really wrong").fill(cause)
    page.get_by_label("What puts it right").fill(correction)
    page.get_by_role("button", name="Save the findings").click()
    expect(page.get_by_text(cause).first).to_be_visible()


def name_option(page: Page, *, title: str, days: str = "3", months: str = "12") -> None:
    """The words of the option whose page is open."""
    page.get_by_label("Title").fill(title)
    page.get_by_label("Days without the boat").fill(days)
    page.get_by_label(re.compile("^Warranty")).fill(months)
    page.get_by_role("button", name=re.compile("^save", re.I)).click()
    expect(page.get_by_role("heading", name=title)).to_be_visible()


def add_line(page: Page, *, title: str, kind: str, what: str, quantity: str, price: str) -> None:
    """A line of the option with this title."""
    card = page.locator("section.option", has=page.get_by_role("heading", name=title))
    card.get_by_label("Kind").select_option(label=kind)
    card.get_by_label("Description").fill(what)
    card.get_by_label("Quantity").fill(quantity)
    card.get_by_label(re.compile("^Price")).fill(price)
    card.get_by_role("button", name="Add this line").click()
    expect(card.get_by_role("row").filter(has_text=what)).to_be_visible()


def send(window: Watched) -> QuoteRevision:
    """From the builder to the customer's page, and out."""
    page = window.page
    page.get_by_role("link", name="See it as the customer will").click()
    window.check()
    page.get_by_role("button", name="Send this quote").click()
    expect(page.get_by_text("Sent, and waiting for the answer.")).to_be_visible()
    return QuoteRevision.objects.latest("sent_at")


def link_to_phone(window: Watched, revision: QuoteRevision) -> str:
    """The address that the desk sends to the customer's phone."""
    page = window.page
    page.goto(f"/quotes/{revision.pk}/preview/")
    page.get_by_role("link", name="Send it to their phone").click()
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_role("heading", name="The link is ready")).to_be_visible()
    window.check()
    return page.locator("#link-address").inner_text()


def log_hours(page: Page, *, hours: str, minutes: str, kind: str = "Repair") -> None:
    """Hours on the job whose bench is open."""
    form = page.locator("#job-time")
    form.get_by_label("What on?").select_option(label=kind)
    form.get_by_label(re.compile("^Hours")).fill(hours)
    form.get_by_label("Minutes").fill(minutes)
    form.get_by_role("button", name="Log the hours").click()
    expect(page.locator("#work-order-actuals")).to_contain_text(kind)


def log_planned_part(page: Page, *, what: str, quantity: str) -> None:
    """A part of the plan on the job whose bench is open."""
    form = page.locator("#job-part")
    form.get_by_label(re.compile(what)).check()
    form.get_by_label("How many").fill(quantity)
    form.get_by_role("button", name="Log the part").click()
    expect(page.locator("#work-order-actuals")).to_contain_text(what)


def finish_and_prove(window: Watched, *, how: str = "Calm water, two aboard") -> None:
    """The work on the job whose bench is open is finished, and its test passed."""
    page = window.page
    page.get_by_role("button", name="Finish the work").click()
    test = page.locator("#job-test")
    window.check()
    test.get_by_label("Yes, it passed").check()
    test.get_by_label("How was it tested?").fill(how)
    test.get_by_label("What was seen?").fill("No leak, oil clear")
    test.get_by_role("button", name="Save the test").click()
    expect(page.get_by_text("Ready").first).to_be_visible()


def tell(window: Watched, work_order: WorkOrder) -> None:
    page = open_visit(window, work_order)
    page.get_by_label("How was the customer told?").select_option(label="by telephone")
    page.get_by_role("button", name="The customer was told").click()
    expect(page.locator("#work-order-custody")).to_contain_text("by telephone")


def draft_the_bill(window: Watched, work_order: WorkOrder) -> None:
    page = open_visit(window, work_order)
    page.locator("#visit-next").get_by_role("button", name="Write the invoice").click()
    expect(page.get_by_role("heading", name="Draft invoice")).to_be_visible()
    window.check()


def issue_and_take_money(window: Watched, *, number: str, due: str) -> None:
    """The draft that is open is issued, and all of it paid by card."""
    page = window.page
    page.get_by_text("Issue this invoice").click()
    page.get_by_role("button", name="Yes, issue it").click()
    expect(page.get_by_role("heading", name=f"Invoice {number}")).to_be_visible()
    window.check()
    expect(page.get_by_label("Amount received")).to_have_value(due)
    page.get_by_role("radio", name="card").check()
    page.get_by_role("button", name="Book the payment").click()
    expect(page.locator("#invoice-payments")).to_contain_text(due)
    window.check()


def printed(window: Watched) -> str:
    """What stands on the paper of the invoice that is open."""
    page = window.page
    paper = page.request.get(page.get_by_role("link", name="Open the paper").get_attribute("href"))
    assert paper.headers["content-type"] == "application/pdf", (paper.status, paper.text()[:400])
    return "\n".join(leaf.extract_text() for leaf in PdfReader(io.BytesIO(paper.body())).pages)


def bill_and_let_go(window: Watched, work_order: WorkOrder, *, due: str, to: str) -> str:
    """Told, billed, paid and gone, with what stands on the paper of the bill."""
    tell(window, work_order)
    window.picture("told")
    draft_the_bill(window, work_order)
    window.picture("draft")
    issue_and_take_money(window, number="INV-00001", due=due)
    words = printed(window)
    hand_back(window, work_order, to=to)
    window.picture("gone")
    return words


def hand_back(window: Watched, work_order: WorkOrder, *, to: str) -> None:
    """The boat goes home, and the visit is over."""
    page = open_visit(window, work_order)
    page.get_by_label("Who takes the boat?").fill(to)
    page.get_by_role("button", name="Hand the boat back").click()
    expect(page.locator("#work-order-custody")).to_contain_text(to)
    window.check()

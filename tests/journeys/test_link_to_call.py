"""A quote goes to the customer's phone, is asked about and signed there; then more is agreed on one call."""

import re
from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from shopapp.models import Approval, Job, Person
from tests.factories.quotes import sent_quote
from tests.journeys.conftest import Watched
from tests.journeys.test_known_boat_to_work_order import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def send_to_phone(desk: Watched, quote: int) -> str:
    """The desk makes the link; returns its address."""
    page = desk.page
    page.goto(f"/quotes/{quote}/preview/")
    page.get_by_role("link", name="Send it to their phone").click()
    desk.check()
    desk.picture("send-link")
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_role("heading", name="The link is ready")).to_be_visible()
    desk.check()
    desk.picture("link")
    return page.locator("#link-address").inner_text()


def ask(phone: Watched, address: str) -> None:
    """The customer opens the link and asks first."""
    page = phone.page
    page.goto(address)
    page.get_by_label("Your question").fill("May I run it until then?")
    page.get_by_role("button", name="Send the question").click()
    expect(page.get_by_text("The shop has your question.")).to_be_visible()
    phone.check()
    phone.picture("asked")


def answer_the_question(desk: Watched, quote: int) -> None:
    page = desk.page
    page.goto(f"/quotes/{quote}/preview/")
    page.get_by_role("textbox", name="Your answer").fill("Please do not, water gets in.")
    desk.picture("preview")
    page.get_by_role("button", name="Answer on their page").click()
    expect(page.get_by_text("Please do not, water gets in.")).to_be_visible()


def sign(phone: Watched) -> None:
    """The customer reads the answer, chooses, sees the total, signs."""
    page = phone.page
    page.reload()
    expect(page.get_by_text("Please do not, water gets in.")).to_be_visible()
    page.get_by_label("Choose A").check()
    expect(page.locator("#decision-total .sum")).to_contain_text("$376.38")
    page.get_by_label("I want the replaced parts back").check()
    page.get_by_label("Your name").fill("Aud Nilsen")
    phone.picture("sign")
    page.get_by_role("button", name="Yes, do what I chose").click()
    expect(page.get_by_role("heading", name="Thank you, that is agreed")).to_be_visible()
    phone.check()
    phone.picture("done")


def start_now(desk: Watched, job: Job) -> None:
    """More is found; one call, and the work goes on."""
    page = desk.page
    page.goto(f"/work-orders/{job.work_order_id}/")
    page.get_by_text("More about this job").click()
    page.get_by_role("link", name="Start now, by phone yes").click()
    page.wait_for_url("**/start-now/**")
    page.get_by_label("What is done", exact=True).fill("New impeller")
    page.get_by_label(re.compile("For this price")).press_sequentially("180")
    expect(page.locator("#start-now-total")).to_contain_text("$534.80")
    desk.check()
    desk.picture("start-now")
    page.get_by_role("button", name="They said yes: start now").click()
    expect(page.get_by_text("Written down, and the job is in hand.")).to_be_visible()
    desk.picture("work-order")


def test_link_leads_to_a_signature_and_a_call_to_more(
    open_browser: Callable[..., Watched], ilse: Person
) -> None:
    sent = sent_quote(ilse, at=timezone.now())
    desk, phone = open_browser(1280), open_browser(360, 800, has_touch=True)
    sign_in(desk.page)

    ask(phone, send_to_phone(desk, sent.pk))
    answer_the_question(desk, sent.pk)
    sign(phone)
    start_now(desk, Job.objects.get())

    first, call = Approval.objects.order_by("pk")
    assert (first.how, first.wants_parts_back, first.without_tax_minor) == ("link", True, 35_480)
    assert (call.how, call.extra_minor, call.new_total_minor) == ("phone", 18_000, 53_480)
    assert Job.objects.get().stage == "in_hand"


def test_call_is_written_down_at_the_desk(open_browser: Callable[..., Watched], ilse: Person) -> None:
    sent = sent_quote(ilse, at=timezone.now())
    desk = open_browser(1280)
    sign_in(desk.page)
    page = desk.page

    page.goto(f"/quotes/{sent.pk}/answer-by-phone/")
    page.get_by_label("Choose A").check()
    expect(page.locator("#call-total")).to_contain_text("$376.38")
    desk.check()
    desk.picture("call")
    page.get_by_role("button", name="They said yes to what is chosen").click()
    expect(page.get_by_text("Written down.")).to_be_visible()

    approval = Approval.objects.get()
    assert (approval.how, approval.new_total_minor, approval.recorded_by) == ("phone", 35_480, ilse)

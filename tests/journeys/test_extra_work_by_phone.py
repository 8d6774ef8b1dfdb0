"""More is found mid-job: the technician says so, the desk asks by a supplement and writes the yes down."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from shopapp.actions import jobs
from shopapp.models import Approval, InvoiceLine, Job, Person, PlacedHold, Stage
from tests.factories import JobFactory
from tests.factories.quotes import answered, desk, sent_quote
from tests.journeys.conftest import Watched
from tests.journeys.test_arrival_to_gone import add_line, prove_it, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FOUND = "The impeller has lost two vanes"
OPTION = "New impeller with its gasket"


def job_in_hand(ilse: Person, tobiah: Person) -> Job:
    """Agreed for 354.80 without tax an hour ago, and begun."""
    at, job = timezone.now() - timedelta(hours=1), JobFactory(technician=tobiah)
    answered(sent_quote(ilse, at=at, work_order=job.work_order), ilse, at=at)
    return jobs.start_work(job.pk, by=desk(ilse, at=at + timedelta(minutes=2)))


def report_what_is_found(bench: Watched, job: Job) -> None:
    """The technician writes down that the job waits for the customer, and what for."""
    page = bench.page
    page.goto(f"/work-orders/{job.work_order_id}/")
    page.get_by_role("link", name="It waits for something").click()
    page.get_by_label("What does it wait for?").select_option(label="Answer")
    page.get_by_label("What exactly?").fill(FOUND)
    page.get_by_label("Who chases it?").select_option(label="Ilse Brandt")
    bench.check()
    bench.picture("extra-reported")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#work-order-holds")).to_contain_text(FOUND)


def write_the_supplement(desk: Watched, job: Job) -> None:
    """The desk sees on Today who waits for what, and asks for exactly that."""
    page = desk.page
    page.goto("/today/")
    expect(page.get_by_text(FOUND).first).to_be_visible()
    desk.check()
    page.get_by_role("link", name=job.work_order.number).first.click()
    page.get_by_role("link", name="Choose the jobs, or add extra work").click()
    desk.check()
    desk.picture("choose")
    page.get_by_role("button", name="Write a supplement").click()
    page.get_by_role("link", name="Change the words").click()
    page.get_by_label("Title").fill(OPTION)
    page.get_by_role("button", name=re.compile("^save", re.I)).click()
    add_line(page, title=OPTION, kind="Part", what="Impeller", quantity="1", price="48")
    desk.check()
    desk.picture("supplement")
    page.get_by_role("link", name="See it as the customer will").click()
    desk.check()
    page.get_by_role("button", name="Send this quote").click()


def write_the_yes_down(desk: Watched) -> None:
    """The customer rings: who, when, which number, what, how much more, and what it comes to."""
    page = desk.page
    page.get_by_role("link", name="They answered by phone or email").click()
    page.get_by_label("Choose A").check()
    for name, amount in (("Agreed so far", "$354.80"), ("This adds", "$48.00"), ("New total", "$402.80")):
        # once each: what was shown and what is in force are the same here
        expect(page.get_by_role("row", name=f"{name}, without tax {amount}")).to_have_count(1)
    page.get_by_label("Who said it?").fill("Sunniva Osei")
    page.get_by_label("What is that person to the owner?").fill("daughter")
    page.get_by_label("Number called, or email address").fill("604 555 0199")
    page.get_by_label("What was agreed").last.fill("A new impeller, fitted while the gearcase is off")
    desk.check()
    desk.picture("call-written-down")
    page.get_by_role("button", name="They said yes to what is chosen").click()
    expect(page.get_by_text("Written down.")).to_be_visible()
    for fact in ("604 555 0199", "Sunniva Osei, daughter", "Ilse Brandt", "$402.80"):
        expect(page.locator(".sign-panel")).to_contain_text(fact)
    desk.check()
    desk.picture("preview-told")


def release_the_hold(desk: Watched, job: Job) -> None:
    page = desk.page
    page.goto(f"/work-orders/{job.work_order_id}/")
    expect(page.locator("#work-order-agreed")).to_contain_text(
        "Told by telephone to Ilse Brandt: Sunniva Osei"
    )
    expect(page.locator("#work-order-feed")).to_contain_text("wrote down the customer's answer")
    page.get_by_role("button", name="It waits no more").click()
    expect(page.get_by_text("It waits for nothing.")).to_be_visible()
    desk.check()
    desk.picture("work-order-told")


def do_the_extra_work(bench: Watched, job: Job) -> None:
    """The job never left the bench; the extra part is on the plan now, without a price."""
    page = bench.page
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    part = page.locator("#job-part")
    part.get_by_label(re.compile("Impeller")).check()
    part.get_by_label("How many").fill("1")
    part.get_by_role("button", name="Log the part").click()
    expect(page.locator("#job-beyond")).to_have_count(0)
    assert "$" not in page.locator("main").inner_text()
    bench.check()
    bench.picture("extra-logged")
    page.get_by_role("button", name="Finish the work").click()
    prove_it(bench)


def bill(desk: Watched, job: Job) -> None:
    page = desk.page
    page.goto(f"/work-orders/{job.work_order_id}/")
    page.get_by_role("button", name=re.compile("invoice", re.I)).first.click()
    expect(page.get_by_role("heading", name="Draft invoice")).to_be_visible()
    desk.check()
    desk.picture("extra-billed")
    page.get_by_text("Issue this invoice").click()
    page.get_by_role("button", name="Yes, issue it").click()
    expect(page.get_by_role("heading", name="Invoice INV-00001")).to_be_visible()


@pytest.mark.soak
def test_extra_work_is_told_by_phone_done_and_billed_t34(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person
) -> None:
    job = job_in_hand(ilse, tobiah)
    desk, bench = open_browser(1280), open_browser(768, 1024, has_touch=True)
    sign_in(desk, ilse)
    sign_in(bench, tobiah)

    report_what_is_found(bench, job)
    write_the_supplement(desk, job)
    write_the_yes_down(desk)
    release_the_hold(desk, job)
    do_the_extra_work(bench, job)
    bill(desk, job)

    call = Approval.objects.latest("pk")
    assert (call.how, call.signed_name, call.relation) == ("phone", "Sunniva Osei", "daughter")
    assert (call.called_number, call.recorded_by) == ("604 555 0199", ilse)
    assert (call.extra_work, call.extra_minor, call.new_total_minor) == (
        "A new impeller, fitted while the gearcase is off",
        4_800,
        40_280,
    )
    assert InvoiceLine.objects.get(description__contains="Impeller").amount_minor == 4_800
    assert (Job.objects.get().stage, PlacedHold.objects.get().released_by) == (Stage.READY, ilse)

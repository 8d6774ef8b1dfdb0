"""A known boat in the hands of the front desk and a technician: from the find box to money and home."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from shopapp.actions import search_texts
from shopapp.actions.activity import first_bad_link
from shopapp.models import Invoice, Job, Payment, Person, QuoteRevision, Stage, WorkOrder
from tests.factories import CustomerFactory, EngineFactory, VesselFactory
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TITLE = "New water pump"


def known_boat() -> None:
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(owner=owner, name="Kittiwake")
    search_texts.index(owner, vessel, EngineFactory(vessel=vessel, serial="PM60-00417"))


def take_in(desk: Watched) -> WorkOrder:
    """Telephone on the shoulder: the boat is found by the keyboard and taken in."""
    page = desk.page
    steps.known_boat_arrives(page, "kitti", complaint="Runs hot at idle")
    expect(page.locator("main")).to_contain_text("Not here lately.")
    page.get_by_label("Keys, tag number").fill("17")
    page.get_by_label("Where does it stand?").fill("Yard 3")
    steps.seen(desk, "a-arrival")
    visit = steps.open_work_order(page)
    steps.seen(desk, "a-taken-in")
    return visit


def write_the_quote(desk: Watched, job: Job) -> QuoteRevision:
    page = steps.open_visit(desk, job.work_order)
    page.locator(f"#job-{job.pk}").get_by_role("button", name="Write the quote").click()
    page.get_by_role("link", name="Change the words").click()
    steps.name_option(page, title=TITLE)
    steps.add_line(page, title=TITLE, kind="Part", what="Impeller kit", quantity="1", price="58.00")
    steps.add_line(page, title=TITLE, kind="Labour", what="Fit the pump", quantity="1.5", price="120")
    # 58.00 + 180.00 = 238.00; 5 % of all = 11.90; 7 % of 58.00 = 4.06
    expect(page.locator("section.option")).to_contain_text("253.96")
    steps.seen(desk, "a-builder")
    return steps.send(desk)


def sign_at_the_counter(tablet: Watched, revision: QuoteRevision) -> None:
    page = tablet.page
    page.goto(f"/quotes/{revision.pk}/preview/")
    page.get_by_role("button", name="Hand over to the customer").click()
    page.wait_for_url("**/approvals/decide/")
    page.get_by_label("Choose A").check()
    expect(page.locator("#decision-total")).to_contain_text("253.96")
    page.get_by_label("Your name").fill("Anna Berg")
    steps.seen(tablet, "a-decide")
    page.get_by_role("button", name="Yes, do what I chose").click()
    expect(page.get_by_role("heading", name="Thank you, that is agreed")).to_be_visible()
    steps.seen(tablet, "a-agreed")


def do_the_work(bench: Watched, job: Job) -> None:
    page = steps.open_visit(bench, job.work_order)
    page.get_by_role("button", name="Start the work").click()
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    steps.log_planned_part(page, what="Impeller kit", quantity="1")
    steps.log_hours(page, hours="1", minutes="40")
    # the bench knows what is planned, and no money of it
    assert "$" not in page.locator("main").inner_text()
    steps.seen(bench, "a-bench")
    steps.finish_and_prove(bench)
    steps.seen(bench, "a-proved")


@pytest.mark.soak
def test_known_boat_goes_to_a_paid_bill(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person
) -> None:
    known_boat()
    desk, bench = steps.desk_and_bench(open_browser, desk=ilse, bench=tobiah)
    tablet = open_browser(768, 1024)
    steps.sign_in(tablet, ilse)

    visit = take_in(desk)
    job = visit.jobs.get()
    steps.find_the_cause(bench, job, cause="Impeller has lost two vanes", correction="New water pump")
    sign_at_the_counter(tablet, write_the_quote(desk, job))
    do_the_work(bench, job)
    printed = steps.bill_and_let_go(desk, visit, due="253.96", to="Anna Berg")

    bill, payment = Invoice.objects.get(), Payment.objects.get()
    assert (bill.total_minor, payment.amount_minor, payment.method) == (25_396, 25_396, "card")
    assert [word in printed for word in ("Impeller kit", "Fit the pump", "253.96", "Anna Berg")] == [True] * 4
    visit.refresh_from_db()
    assert (visit.stage, visit.is_boat_here, visit.gone_to) == (Stage.GONE, False, "Anna Berg")
    assert first_bad_link() is None

"""The customer declines with the engine in pieces: fee and reassembly are billed, and it goes home."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from shopapp.actions import search_texts
from shopapp.actions.activity import first_bad_link
from shopapp.models import Approval, Invoice, Job, Outcome, Person, QuoteRevision, Stage, WorkOrder
from tests.factories import CustomerFactory, EngineFactory, VesselFactory
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TITLE = "New powerhead"


def known_boat() -> None:
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(owner=owner, name="Kittiwake")
    search_texts.index(owner, vessel, EngineFactory(vessel=vessel))


def take_in_on_terms(desk: Watched) -> WorkOrder:
    """80.00 for finding the fault and 300.00 to spend without asking, signed on paper."""
    page = desk.page
    steps.known_boat_arrives(page, "kitti", complaint="Knocks, then stopped")
    page.get_by_text("Terms, as usual unless changed here").click()
    page.get_by_label("Diagnosis fee, without tax").fill("80")
    page.get_by_label("May be spent without asking again, without tax").fill("300")
    visit = steps.open_work_order(page)
    page.get_by_text("Signed on paper").click()
    page.get_by_label("Name of whoever signed").fill("Anna Berg")
    page.get_by_role("button", name="It is signed").click()
    expect(page.get_by_text("Signed by Anna Berg")).to_be_visible()
    steps.seen(desk, "c-taken-in")
    return visit


def take_apart(bench: Watched, job: Job) -> None:
    steps.find_the_cause(bench, job, cause="Piston two is seized", correction="New powerhead")
    page = bench.page
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    steps.log_hours(page, hours="2", minutes="15", kind="Diagnosis")
    steps.seen(bench, "c-in-pieces")


def quote_to_phone(desk: Watched, job: Job) -> tuple[QuoteRevision, str]:
    page = steps.open_visit(desk, job.work_order)
    page.locator(f"#job-{job.pk}").get_by_role("button", name="Write the quote").click()
    page.get_by_role("link", name="Change the words").click()
    steps.name_option(page, title=TITLE)
    steps.add_line(page, title=TITLE, kind="Part", what="Powerhead", quantity="1", price="4200")
    revision = steps.send(desk)
    return revision, steps.link_to_phone(desk, revision)


def decline(phone: Watched, address: str) -> None:
    page = phone.page
    page.goto(address)
    expect(page.get_by_role("heading", name="Knocks, then stopped")).to_be_visible()
    expect(page.locator("main")).to_contain_text("Piston two is seized")
    steps.seen(phone, "c-quote")
    page.get_by_text("I want none of this").click()
    page.get_by_label("Your name").fill("Anna Berg")
    page.locator("textarea[name=reason]").fill("Too dear for its age.")
    steps.seen(phone, "c-declines")
    page.get_by_role("button", name="No, thank you").click()
    expect(page.locator("main")).to_contain_text("Anna Berg")
    steps.seen(phone, "c-declined")


def end_in_boxes(desk: Watched, job: Job) -> None:
    """The customer takes it home as it lies there."""
    page = steps.open_visit(desk, job.work_order)
    page.get_by_text("More about this job").click()
    page.get_by_role("link", name="End it without doing it").click()
    page.get_by_role("radio", name="declined: goes home in boxes").check()
    page.get_by_label("Why?").fill("Wants to sell it for parts")
    steps.seen(desk, "c-ending")
    page.get_by_role("button", name="End the job").click()
    expect(page.locator(f"#job-{job.pk}")).to_contain_text("goes home in boxes")


def log_what_it_took(bench: Watched, job: Job, *, hours: str, minutes: str) -> None:
    page = bench.page
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    steps.log_hours(page, hours=hours, minutes=minutes)
    steps.seen(bench, "c-put-back")


def lines_of(bill: Invoice) -> list[tuple[str, int]]:
    return list(bill.lines.order_by("position").values_list("origin", "amount_minor"))


@pytest.mark.parametrize(
    ("is_in_boxes", "hours", "labour", "due"),
    [
        # 1.5 h at 120.00 = 180.00; 5 % of 260.00 = 13.00; 7 % of the fee of 80.00 = 5.60
        pytest.param(False, ("1", "30"), 18_000, "278.60", marks=pytest.mark.soak, id="put back together"),
        # half an hour to pack it = 60.00; 5 % of 140.00 = 7.00; 7 % of 80.00 = 5.60
        pytest.param(True, ("0", "30"), 6_000, "152.60", marks=pytest.mark.soak, id="in boxes"),
    ],
)
def test_declined_boat_goes_home(
    open_browser: Callable[..., Watched],
    ilse: Person,
    tobiah: Person,
    is_in_boxes: bool,
    hours: tuple[str, str],
    labour: int,
    due: str,
) -> None:
    known_boat()
    desk, bench = steps.desk_and_bench(open_browser, desk=ilse, bench=tobiah)
    phone = open_browser(360, 800, has_touch=True)

    visit = take_in_on_terms(desk)
    job = visit.jobs.get()
    take_apart(bench, job)
    _, address = quote_to_phone(desk, job)
    decline(phone, address)
    if is_in_boxes:
        end_in_boxes(desk, job)
    log_what_it_took(bench, job, hours=hours[0], minutes=hours[1])
    printed = steps.bill_and_let_go(desk, visit, due=due, to="Anna Berg")

    job.refresh_from_db()
    answer, bill = Approval.objects.get(), Invoice.objects.get()
    # the two hours and a quarter of looking are in the fee, and nothing of the powerhead is billed
    assert lines_of(bill) == [("actual", labour), ("fee", 8_000)]
    assert (answer.decision, answer.reason, answer.how) == ("declined", "Too dear for its age.", "link")
    assert job.outcome == (Outcome.DECLINED_IN_BOXES if is_in_boxes else Outcome.DECLINED)
    assert WorkOrder.objects.get().stage == Stage.GONE
    assert ("Diagnosis fee" in printed, due in printed, "Powerhead" in printed) == (True, True, False)
    assert first_bad_link() is None

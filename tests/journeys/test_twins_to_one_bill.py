"""Twins and their boat: three answers on one paper, one job on the bill, each engine with its own history."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from shopapp.actions.activity import first_bad_link
from shopapp.models import Approval, Engine, Invoice, Job, Outcome, Person, Stage, WorkOrder
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SEALS, PUMP, BILGE = "New seals", "New water pump", "New bilge pump"


def take_in(desk: Watched) -> WorkOrder:
    """A new customer with twins: make and model once, a serial each, a job each."""
    page = desk.page
    page.get_by_role("navigation").get_by_role("link", name="New arrival").click()
    form = page.locator("#arrival")
    form.get_by_label("Name", exact=True).fill("Halvard Osei")
    form.get_by_label("Telephone", exact=True).fill("604 555 0142")
    form.get_by_label("What is it on?").fill("berth C12")
    form.get_by_label("Boat's name").fill("Kittiwake")
    form.get_by_role("radio", name="Twins").check()
    form.get_by_label("Make of the engine").fill("Petrel Marine")
    form.get_by_label("Model of the engine").fill("P60")
    form.get_by_label(re.compile("^Serial( optional)?$")).fill("PM60-00001")
    form.get_by_label("Serial of the starboard engine").fill("PM60-00002")
    form.get_by_role("checkbox", name="port").check()
    form.get_by_role("checkbox", name="starboard").check()
    form.get_by_label("What is wrong, in the customer's words").fill("Both are due, port smokes")
    form.get_by_label("Tobiah Reyes").check()
    steps.seen(desk, "f-arrival")
    return steps.open_work_order(page)


def add_the_boats_job(desk: Watched, visit: WorkOrder) -> None:
    page = steps.open_visit(desk, visit)
    page.get_by_role("link", name="Add a job").click()
    page.get_by_label("What is wrong?").fill("Bilge pump is dead")
    page.get_by_label("On which engine?").select_option("")
    page.get_by_label("Test that proves it").select_option("none")
    steps.seen(desk, "f-another-job")
    page.get_by_role("button", name="Add the job").click()
    expect(page.get_by_text("Bilge pump is dead").first).to_be_visible()
    job = visit.jobs.get(position=3)
    page.locator(f"#job-{job.pk}").get_by_label("Technician for this job").select_option(label="Tobiah Reyes")
    page.locator(f"#job-{job.pk}").get_by_role("button", name="Put on this job").click()
    expect(page.locator(f"#job-{job.pk}")).to_contain_text("Take off")


def write_option(page: Page, cause: str, *, title: str, price: str) -> None:
    """The first option of the job with this cause."""
    card = page.locator("section.quote-job", has_text=cause)
    card.get_by_role("link", name="Change the words").first.click()
    steps.name_option(page, title=title)
    steps.add_line(page, title=title, kind="Part", what=f"{title}, kit", quantity="1", price=price)


def write_the_paper(desk: Watched, visit: WorkOrder) -> str:
    """One quote about all three; its address for the customer's phone."""
    page = steps.open_visit(desk, visit)
    page.get_by_role("button", name="Write the quote").first.click()
    write_option(page, "Shaft seal is cut", title=SEALS, price="100")
    write_option(page, "Impeller is hard", title=PUMP, price="200")
    write_option(page, "Windings are burnt", title=BILGE, price="300")
    second = page.locator("section.quote-job", has_text="Impeller is hard")
    second.get_by_label("Way of putting it right").select_option(label="Leave it")
    second.get_by_role("button", name="Add an option").click()
    steps.name_option(page, title="Leave it until autumn", days="0", months="0")
    steps.seen(desk, "f-builder")
    return steps.link_to_phone(desk, steps.send(desk))


def answer(phone: Watched, address: str) -> None:
    """Yes to the port engine, the starboard one is left, the pump not now."""
    page = phone.page
    page.goto(address)
    questions = page.locator("section.quote-question")
    expect(questions).to_have_count(3)
    steps.seen(phone, "f-questions")
    questions.nth(0).get_by_role("radio", name="Choose A").check()
    questions.nth(1).get_by_role("radio", name=re.compile("Leave it until autumn")).check()
    questions.nth(2).get_by_role("radio", name="Not now").check()
    expect(page.locator("#decision-total .sum")).to_contain_text("112.00")
    page.get_by_label("Your name").fill("Halvard Osei")
    steps.seen(phone, "f-answers")
    page.get_by_role("button", name="Yes, do what I chose").click()
    expect(page.get_by_role("heading", name="Thank you, that is agreed")).to_be_visible()
    steps.seen(phone, "f-agreed")


def do_the_work(bench: Watched, job: Job) -> None:
    page = steps.open_visit(bench, job.work_order)
    # two engines of one make and model are told apart by where they hang
    headings = page.locator("section > header > h2")
    expect(headings.filter(has_text="Job 1: Petrel Marine P60, port")).to_be_visible()
    expect(headings.filter(has_text="Job 2: Petrel Marine P60, starboard")).to_be_visible()
    steps.seen(bench, "f-visit")
    page.get_by_role("button", name="Start the work").click()
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    steps.log_planned_part(page, what=f"{SEALS}, kit", quantity="1")
    steps.finish_and_prove(bench)


def history_of(desk: Watched, engine: Engine) -> str:
    desk.page.goto(f"/customers/engine/{engine.pk}/")
    steps.seen(desk, f"f-engine-{engine.serial}")
    return desk.page.locator("#engine-jobs").inner_text()


@pytest.mark.soak
def test_twins_get_three_answers_and_one_job_on_the_bill(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person
) -> None:
    desk, bench = steps.desk_and_bench(open_browser, desk=ilse, bench=tobiah)
    phone = open_browser(360, 800, has_touch=True)

    visit = take_in(desk)
    add_the_boats_job(desk, visit)
    port, starboard, boat = visit.jobs.order_by("position")
    steps.find_the_cause(bench, port, cause="Shaft seal is cut", correction="Fitted new seals")
    steps.find_the_cause(bench, starboard, cause="Impeller is hard", correction="New pump")
    steps.find_the_cause(bench, boat, cause="Windings are burnt", correction="New bilge pump")
    answer(phone, write_the_paper(desk, visit))
    do_the_work(bench, port)
    printed = steps.bill_and_let_go(desk, visit, due="112.00", to="Halvard Osei")

    bill, approval = Invoice.objects.get(), Approval.objects.get()
    assert [job.outcome for job in visit.jobs.order_by("position")] == [
        Outcome.DONE,
        Outcome.DECLINED,
        Outcome.DECLINED,
    ]
    assert approval.choices.count() == 3
    assert set(bill.lines.values_list("job", flat=True)) == {port.pk}
    assert (bill.total_minor, approval.with_tax_minor) == (11_200, 11_200)
    assert [words in printed for words in (SEALS, PUMP, BILGE)] == [True, False, False]
    histories = [history_of(desk, job.engine) for job in (port, starboard)]
    assert ["Fitted new seals" in words for words in histories] == [True, False]
    assert ["declined" in words for words in histories] == [False, True]
    assert WorkOrder.objects.get().stage == Stage.GONE
    assert first_bad_link() is None

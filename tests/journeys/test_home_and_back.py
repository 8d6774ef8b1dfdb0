"""A boat goes home while its part is on back-order, and comes back: one order, no storage for home."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from shopapp.actions import search_texts
from shopapp.actions.activity import first_bad_link
from shopapp.models import CustodyEntry, FeeKind, FeeRate, Invoice, Job, Person, Shop, Stage, WorkOrder
from shopapp.queries.shop import local_day, the_shop
from tests.factories import CustomerFactory, EngineFactory, VesselFactory
from tests.factories.quotes import answered, sent_quote
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

AT_HOME, TOLD_AND_NOT_FETCHED = 21, 10


def known_boat() -> None:
    """The shop takes a storage fee from the third day on."""
    Shop.objects.update(storage_free_days=2, lately_months=12)
    rate = {"kind": FeeKind.STORAGE, "unit": "day", "unit_price_e4": 120_000}
    FeeRate.objects.create(name="Storage", **rate)
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(owner=owner, name="Kittiwake")
    search_texts.index(owner, vessel, EngineFactory(vessel=vessel))


def take_in(desk: Watched) -> WorkOrder:
    page = desk.page
    steps.known_boat_arrives(page, "kitti", complaint="Gear oil looks milky")
    page.get_by_label("Keys, tag number").fill("17")
    page.get_by_label("Where does it stand?").fill("Yard 3")
    return steps.open_work_order(page)


def agree(bench: Watched, job: Job, by: Person) -> None:
    """What is wrong is found; new seals are agreed (how, is another journey's matter)."""
    steps.find_the_cause(bench, job, cause="Shaft seal is cut", correction="New seals")
    now = timezone.now()
    answered(sent_quote(by, at=now, work_order=job.work_order), by, at=now)


def wait_for_the_part(desk: Watched, visit: WorkOrder, *, chase: date) -> None:
    page = steps.open_visit(desk, visit)
    page.get_by_role("link", name="It waits for something").click()
    page.get_by_label("What does it wait for?").select_option(label="Parts")
    page.get_by_label("What exactly?").fill("Seal kit, on back-order at Norsk Tern")
    page.get_by_label("When next?").fill(str(chase))
    steps.seen(desk, "g-hold")
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#work-order-holds")).to_contain_text("on back-order at Norsk Tern")


def write_down(page: Page, things: tuple[str, ...], *, way: str, who: str) -> None:
    """In or out on the page of the log."""
    for thing in things:
        page.get_by_role("checkbox", name=thing).check()
    page.get_by_role("radio", name=way).check()
    page.get_by_label("Who brings or takes it?").fill(who)
    page.get_by_role("button", name="Write it down").click()


def go_home(desk: Watched, visit: WorkOrder) -> None:
    page = desk.page
    page.goto(f"/arrivals/{visit.pk}/custody/")
    write_down(page, ("Boat", "Keys"), way="went out", who="Anna Berg")
    expect(page.locator("main")).to_contain_text("Boat went out, Anna Berg")
    steps.seen(desk, "g-custody-out")
    steps.open_visit(desk, visit)
    steps.seen(desk, "g-visit-at-home")


def come_back(desk: Watched, visit: WorkOrder) -> None:
    """The find box leads to the same order, with one button; the visit is no visit of lately."""
    page = desk.page
    page.goto("/today/")
    steps.seen(desk, "g-today-at-home")
    steps.find_boat(page, "kitti")
    page.get_by_role("link", name="Kittiwake").first.click()
    if "/arrivals/new/" not in page.url:
        page.get_by_role("link", name="New arrival").last.click()
    expect(page.locator("main")).to_contain_text(f"Kittiwake is on {visit.number} and went home on")
    expect(page.locator("main")).to_contain_text("Not here lately.")
    steps.seen(desk, "g-arrival-back")
    page.get_by_role("button", name=f"Take it back in on {visit.number}").click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    steps.seen(desk, "g-back")


def release_the_hold(desk: Watched, visit: WorkOrder) -> None:
    page = steps.open_visit(desk, visit)
    page.locator("#work-order-holds").get_by_role("button", name="It waits no more").click()
    expect(page.locator("#work-order-holds")).to_contain_text("It waits for nothing.")


def do_the_work(bench: Watched, job: Job) -> None:
    page = steps.open_visit(bench, job.work_order)
    page.get_by_role("button", name="Start the work").click()
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    steps.log_planned_part(page, what="Propeller shaft seal", quantity="2")
    steps.finish_and_prove(bench)


def look_for_storage(desk: Watched, job: Job, *, days: int) -> None:
    """The page of fees says how many days have come up."""
    page = desk.page
    page.goto(f"/work-orders/job/{job.pk}/charges/")
    said = page.get_by_text("storage have come up", exact=False)
    expect(said).to_have_count(1 if days else 0)
    if days:
        expect(said).to_contain_text(f"{days} days of storage")
    steps.seen(desk, f"g-storage-{days}")


def look_up_lately(desk: Watched, visit: WorkOrder) -> None:
    """Only now that it is over, the visit is one of lately."""
    page = desk.page
    page.goto(f"/arrivals/new/?vessel={visit.vessel_id}")
    expect(page.locator("main")).to_contain_text(visit.number)
    expect(page.locator("main")).not_to_contain_text("Not here lately.")
    steps.seen(desk, "g-seen-lately")


def fetch(desk: Watched, job: Job) -> None:
    """A day on the way at either end, two days free, none of those at home; the shop asks for none of it."""
    look_for_storage(desk, job, days=7)
    steps.draft_the_bill(desk, job.work_order)
    steps.issue_and_take_money(desk, number="INV-00001", due="376.38")
    steps.hand_back(desk, job.work_order, to="Anna Berg")
    steps.seen(desk, "g-gone")
    look_up_lately(desk, job.work_order)


@pytest.mark.soak
def test_boat_at_home_stays_on_its_order(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person
) -> None:
    known_boat()
    desk, bench = steps.desk_and_bench(open_browser, desk=ilse, bench=tobiah)
    visit = take_in(desk)
    job = visit.jobs.get()
    agree(bench, job, ilse)
    wait_for_the_part(desk, visit, chase=local_day(the_shop(), timezone.now()) + timedelta(days=5))
    go_home(desk, visit)

    with steps.days_later(AT_HOME):
        steps.sign_in(desk, ilse)
        steps.sign_in(bench, tobiah)
        come_back(desk, visit)
        release_the_hold(desk, visit)
        do_the_work(bench, job)
        steps.tell(desk, visit)
        look_for_storage(desk, job, days=0)
    # it is not fetched at once
    with steps.days_later(AT_HOME + TOLD_AND_NOT_FETCHED):
        steps.sign_in(desk, ilse)
        fetch(desk, job)

    assert WorkOrder.objects.get().stage == Stage.GONE
    log = CustodyEntry.objects.order_by("happened_at", "pk").values_list("thing", "move", "who")
    boat = [(move, who) for thing, move, who in log if thing == "boat"]
    assert [move for move, _who in boat] == ["in", "out", "in", "out"]
    assert boat[1][1] == boat[3][1] == "Anna Berg"
    assert set(Invoice.objects.get().lines.values_list("kind", flat=True)) == {"labour", "part", "fluid"}
    assert first_bad_link() is None

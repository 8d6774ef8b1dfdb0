"""In the middle of an arrival the telephone rings and a walk-in buys a part: the form is as it was left."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from playwright.sync_api import Page

from shopapp.actions import search_texts
from shopapp.models import CallSlip, Invoice, ParkedForm, Payment, Person, Vessel, WorkOrder
from tests.factories import PASSWORD, CustomerFactory, EngineFactory, VesselFactory, WorkOrderFactory
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
COMPLAINT = "Gear oil looks milky.\nIt was here eleven days ago."


def sign_in(page: Page) -> None:
    page.goto("/people/sign-in/")
    page.fill("#id_username", "ilse")
    page.fill("#id_password", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url("**/today/")


def boat(name: str, owner: str) -> Vessel:
    """A known boat with two engines, so that one of them must be chosen."""
    vessel = VesselFactory(owner=CustomerFactory(name=owner), name=name)
    engines = [EngineFactory(vessel=vessel) for _ in range(2)]
    search_texts.index(vessel, vessel.ownerships.get().customer, *engines)
    return vessel


def as_left(page: Page) -> dict[str, object]:
    """What stands in the arrival form: fields, choices, and about which boat it is."""
    return page.evaluate(
        """() => ({
            boat: document.querySelector("main .lede").innerText,
            fields: [...new FormData(document.getElementById("arrival"))]
                .filter(([name, value]) => typeof value === "string")
                .filter(([name]) => !["csrfmiddlewaretoken", "once_key", "parked"].includes(name)),
        })"""
    )


def begin_arrival(page: Page, vessel: Vessel, technician: Person) -> None:
    page.goto(f"/arrivals/new/?vessel={vessel.pk}")
    page.locator("#arrival input[name=engine], #arrival input[name=engines]").nth(1).check()
    page.fill("#id_complaint", COMPLAINT)
    page.fill("#id_promised_date", str(date.today() + timedelta(days=30)))  # noqa: DTZ011 (any day soon)
    page.check(f"#arrival input[name=technicians][value='{technician.pk}']")


def look_up(page: Page, words: str, visit: WorkOrder) -> None:
    """The telephone: another boat is asked for."""
    page.keyboard.press("/")
    page.keyboard.type(words)
    page.wait_for_selector("#find-answers a")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/work-orders/{visit.pk}/")


def sell_for_cash(watched: Watched) -> None:
    """Over the counter: somebody walks in, takes a part and pays."""
    page = watched.page
    page.get_by_role("navigation").get_by_role("link", name="Invoices").click()
    page.get_by_role("link", name="Sale over the counter").click()
    page.locator("#id_description_1").fill("Water pump impeller")
    page.locator("#id_unit_price_1").fill("29.90")
    page.get_by_role("radio", name="cash").check()
    page.get_by_role("button", name="Show what it comes to").click()
    # 12 % of 29.90 is 3.588, each tax rounded by itself: 1.50 and 2.09
    page.get_by_role("button", name="Take $33.49 and sell").wait_for()
    watched.check()
    watched.picture("counter-sale")
    page.get_by_role("button", name="Take $33.49 and sell").click()
    page.wait_for_url(lambda url: "/counter-sale/" not in url)
    watched.check()


def look_at_own_pin(page: Page) -> None:
    """A PIN is never kept, so nothing offers to."""
    page.locator(".menu > summary").click()
    page.get_by_role("link", name="My PIN").click()
    page.get_by_role("heading", name="PIN").wait_for()
    assert not page.get_by_role("button", name="Park this").is_visible()


def take_up_again(page: Page) -> None:
    page.click(".parked-count")
    page.get_by_role("link", name="Take it up again").click()
    page.wait_for_url("**/arrivals/new/?vessel=*")


@pytest.mark.parametrize("width", [1280, pytest.param(768, marks=pytest.mark.soak)])
def test_arrival_is_as_it_was_left(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person, width: int
) -> None:
    kittiwake, grebe = boat("Kittiwake", "Anna Berg"), boat("Grebe", "Bo Lind")
    visit = WorkOrderFactory(vessel=grebe, number="W-00009")
    watched = open_browser(width)
    page = watched.page
    sign_in(page)
    begin_arrival(page, kittiwake, tobiah)
    left = as_left(page)

    page.keyboard.press("Alt+p")
    page.wait_for_url("**/today/")
    watched.check()
    watched.picture("today-with-parked")
    look_up(page, "grebe", visit)
    sell_for_cash(watched)
    look_at_own_pin(page)
    take_up_again(page)

    assert as_left(page) == left
    watched.check()
    page.locator("#arrival button.button-primary").last.click()
    page.wait_for_url(lambda url: "/arrivals/new/" not in url)
    order = WorkOrder.objects.latest("pk")
    assert (order.vessel, order.complaint) == (kittiwake, COMPLAINT)
    assert ParkedForm.objects.count() == 0
    sold, paid = Invoice.objects.get(), Payment.objects.get()
    assert (sold.work_order, sold.total_minor, paid.amount_minor, paid.method) == (None, 3_349, 3_349, "cash")


def test_call_slip_in_the_middle_parks_what_was_begun(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person
) -> None:
    kittiwake = boat("Kittiwake", "Anna Berg")
    watched = open_browser(1280)
    page = watched.page
    sign_in(page)
    begin_arrival(page, kittiwake, tobiah)

    page.keyboard.press("Alt+c")
    page.wait_for_url("**/calls/new/")
    page.keyboard.type("Aud Nilsen")
    page.fill("#id_about", "When is it ready?")
    watched.check()
    page.keyboard.press("Enter")
    page.wait_for_url("**/calls/")

    watched.check()
    assert CallSlip.objects.get().name == "Aud Nilsen"
    assert ParkedForm.objects.get().path == f"/arrivals/new/?vessel={kittiwake.pk}"


def test_form_with_errors_is_parked_with_what_was_typed(
    open_browser: Callable[..., Watched], ilse: Person
) -> None:
    watched = open_browser(1280)
    page = watched.page
    sign_in(page)
    page.goto("/calls/new/")
    page.fill("#id_name", "Aud Nilsen")
    page.keyboard.press("Enter")
    page.wait_for_selector("#error-summary")
    page.fill("#id_phone", "604 555 0190")

    page.get_by_role("button", name="Park this").click()
    page.wait_for_url("**/today/")
    page.get_by_role("link", name="Take it up again").click()
    page.wait_for_url("**/calls/new/?parked=*")

    typed = [page.input_value(f"#id_{name}") for name in ("name", "phone", "about")]
    assert typed == ["Aud Nilsen", "604 555 0190", ""]
    page.fill("#id_about", "When is it ready?")
    page.keyboard.press("Enter")
    page.wait_for_url("**/calls/")
    assert (CallSlip.objects.count(), ParkedForm.objects.count()) == (1, 0)


@pytest.mark.parametrize("width", [pytest.param(1280, marks=pytest.mark.soak), 360])
def test_pages_of_the_desk_are_fit_to_use(
    open_browser: Callable[..., Watched], ilse: Person, width: int
) -> None:
    boat("Kittiwake", "Anna Berg")
    WorkOrderFactory(vessel=Vessel.objects.get(), stage="ready")
    watched = open_browser(width)
    page = watched.page
    sign_in(page)

    for address in (
        "/today/",
        "/find/?q=kitti",
        "/calls/",
        "/calls/new/",
        "/today/parked/",
        "/today/recent/",
    ):
        page.goto(address)
        watched.check()
        watched.picture(address.strip("/").replace("/", "-").partition("?")[0])
    page.goto("/today/")
    page.fill("[data-find]", "kitti")
    page.wait_for_selector("#find-answers a")
    watched.check()
    page.click("details.menu > summary")
    page.wait_for_selector("#recent-items")
    watched.check()

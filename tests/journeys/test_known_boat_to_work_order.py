"""At the counter, phone on the shoulder: a known boat is taken in by the keyboard alone, in few inputs."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from shopapp.actions import search_texts
from shopapp.models import Person, WorkOrder
from tests.factories import PASSWORD, CustomerFactory, EngineFactory, VesselFactory
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MOST_INPUTS = 12


class Keyboard:
    """Counts what a person does: each key pressed, and each text typed in one go."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.inputs = 0

    def press(self, key: str) -> None:
        self.inputs += 1
        self.page.keyboard.press(key)

    def write(self, text: str) -> None:
        self.inputs += 1
        self.page.keyboard.type(text)


def sign_in(page: Page) -> None:
    page.goto("/people/sign-in/?next=/customers/")
    page.fill("#id_username", "ilse")
    page.fill("#id_password", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_selector("#customer-rows")


def known_boat() -> None:
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(owner=owner, name="Kittiwake")
    search_texts.index(owner, vessel, EngineFactory(vessel=vessel))


@pytest.mark.parametrize("width", [1280, 768])
def test_known_boat_is_taken_in_by_keyboard(
    open_browser: Callable[..., Watched], ilse: Person, width: int
) -> None:
    known_boat()
    watched = open_browser(width)
    page = watched.page
    sign_in(page)
    keyboard = Keyboard(page)

    keyboard.press("/")
    keyboard.write("kitti")
    page.wait_for_selector("#find-answers a")
    keyboard.press("ArrowDown")
    keyboard.press("ArrowDown")
    keyboard.press("Enter")
    page.wait_for_url("**/arrivals/new/?vessel=*")
    keyboard.write("Gear oil looks milky")
    keyboard.press("Tab")
    keyboard.press("Tab")
    keyboard.press("Enter")
    page.wait_for_url("**/arrivals/*/taken-in/")

    order = WorkOrder.objects.get()
    assert (order.vessel.name, order.complaint) == ("Kittiwake", "Gear oil looks milky")
    assert keyboard.inputs <= MOST_INPUTS


def test_find_answers_while_typing(open_browser: Callable[..., Watched], ilse: Person) -> None:
    known_boat()
    watched = open_browser(1280)
    sign_in(watched.page)

    watched.page.goto("/arrivals/new/")
    watched.page.keyboard.type("0142")
    watched.page.wait_for_selector("#find-results a.row-link")

    assert watched.page.inner_text("#find-results a.row-link") == "Kittiwake"
    watched.check()


@pytest.mark.parametrize("width", [pytest.param(1280, marks=pytest.mark.soak), 360])
def test_pages_of_the_counter_are_fit_to_use(
    open_browser: Callable[..., Watched], ilse: Person, width: int
) -> None:
    known_boat()
    watched = open_browser(width)
    sign_in(watched.page)

    watched.page.goto("/arrivals/new/")
    watched.page.fill("#id_hull_number", "ABC1234")
    watched.page.wait_for_selector("#hull-remark li")
    remark = watched.page.inner_text("#hull-remark li")
    watched.check()

    assert remark == "It has 7 characters; a hull number has 12."

"""Keyboard only, from a boat that arrives to its printed tag (journey e), and the pages on the way."""

import re
import sys
from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from shopapp.actions import search_texts
from shopapp.models import Intake, Job, Person, Shop, WorkOrder
from tests.factories import (
    PASSWORD,
    CustomerFactory,
    EngineFactory,
    JobFactory,
    VesselFactory,
    WorkOrderFactory,
)
from tests.factories.intakes import WORDS
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# common practice, no source: a practised person strikes four keys a second and takes a second to look up
# before each new thing they do
KEY_SECONDS, LOOK_SECONDS = 0.25, 1.0
MOST_INPUTS, MOST_SECONDS = 12, 60


class Typist:
    """Works the page by keyboard alone and reckons how long a person would take."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.inputs = 0
        self.seconds = 0.0

    def press(self, *keys: str) -> None:
        for key in keys:
            self._count(1)
            self.page.keyboard.press(key)

    def write(self, text: str) -> None:
        self._count(len(text))
        self.page.keyboard.type(text)

    def _count(self, keys: int) -> None:
        self.inputs += 1
        self.seconds += LOOK_SECONDS + keys * KEY_SECONDS


def known_twin() -> None:
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(owner=owner, name="Kittiwake")
    port = EngineFactory(vessel=vessel, serial="PM60-00041")
    starboard = EngineFactory(vessel=vessel, serial="PM60-00042")
    port.mountings.update(position="port")
    starboard.mountings.update(position="starboard")
    gone = WorkOrderFactory(vessel=vessel, number="W-00900", stage="gone", gone_at=timezone.now())
    JobFactory(work_order=gone, engine=port, outcome="done", correction="New plug gaskets")
    search_texts.index(owner, vessel, port, starboard)


def known_boat() -> None:
    owner = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    vessel = VesselFactory(owner=owner, name="Kittiwake")
    search_texts.index(owner, vessel, EngineFactory(vessel=vessel))


def sign_in(page: Page) -> None:
    page.goto("/people/sign-in/?next=/customers/")
    page.fill("#id_username", "ilse")
    page.fill("#id_password", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_selector("#customer-rows")


def test_known_boat_to_printed_tag_by_keyboard(open_browser: Callable[..., Watched], ilse: Person) -> None:
    known_boat()
    watched = open_browser(1280)
    page = watched.page
    sign_in(page)
    typist = Typist(page)

    page.goto("/arrivals/new/")
    typist.write("kitti")
    typist.press("Enter")
    page.wait_for_url("**/arrivals/find/?q=kitti")
    typist.press("Tab", "Enter")
    page.wait_for_url("**/arrivals/new/?vessel=*")
    typist.write("Gear oil looks milky")
    typist.press("Tab", "Tab", "Enter")
    page.wait_for_url("**/arrivals/*/taken-in/")
    inputs, seconds = typist.inputs, typist.seconds
    with page.expect_response(re.compile("/tag/$")) as printed:
        typist.press("Enter")

    assert (printed.value.status, printed.value.headers["content-type"]) == (200, "application/pdf")
    sys.stdout.write(f"known boat: {inputs} inputs, {seconds:.0f} s at 4 keys a second and 1 s a look\n")
    assert (inputs <= MOST_INPUTS, seconds <= MOST_SECONDS) == (True, True)


def look(watched: Watched, name: str) -> None:
    watched.check()
    watched.picture(name)


@pytest.mark.parametrize("width", [pytest.param(1280, marks=pytest.mark.soak), 360])
def test_arrival_of_twins_is_fit_to_use(
    open_browser: Callable[..., Watched], ilse: Person, width: int
) -> None:
    known_twin()
    watched = open_browser(width)
    page = watched.page
    sign_in(page)
    page.goto("/arrivals/new/")
    look(watched, "arrival-new")
    hidden = page.get_by_label("Serial of the centre engine").is_visible()
    page.get_by_label("Triples").check()
    look(watched, "arrival-triples")

    assert (hidden, page.get_by_label("Serial of the centre engine").is_visible()) == (False, True)
    page.goto(f"/arrivals/new/?vessel={WorkOrder.objects.get().vessel_id}")
    page.get_by_text("Somebody else brings it").click()
    page.get_by_text("Terms, as usual").click()
    look(watched, "arrival-known")


def take_the_twin_in(page: Page) -> str:
    page.goto(f"/arrivals/new/?vessel={WorkOrder.objects.get().vessel_id}")
    page.get_by_label(re.compile("starboard")).first.check()
    page.get_by_label("What is wrong, in the customer's words").fill("Gear oil looks milky")
    page.get_by_label("Keys, tag number").fill("17")
    page.get_by_label("Fuel").select_option(label="about half")
    page.get_by_role("button", name="Open work order").click()
    page.wait_for_url("**/arrivals/*/taken-in/")
    return page.url.removesuffix("taken-in/")


@pytest.mark.parametrize("width", [768, pytest.param(360, marks=pytest.mark.soak)])
def test_terms_are_signed_on_the_tablet(
    open_browser: Callable[..., Watched], ilse: Person, width: int
) -> None:
    known_twin()
    Shop.objects.update(**WORDS)
    watched = open_browser(width)
    page = watched.page
    sign_in(page)
    here = take_the_twin_in(page)
    for name in ("terms", "people", "custody", "taken-in"):
        page.goto(f"{here}{name}/")
        look(watched, name)
    page.get_by_role("button", name="Hand over the tablet to sign").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Leaving Kittiwake with us")
    look(watched, "intake-terms")
    page.get_by_label("Your name").fill("Anna Berg")
    page.get_by_role("button", name="Yes, on these terms").click()
    page.wait_for_url("**/approvals/intake/signed/")
    look(watched, "intake-signed")

    assert (Intake.objects.get().signed_name, Job.objects.get(work_order__stage="here").engine.serial) == (
        "Anna Berg",
        "PM60-00042",
    )

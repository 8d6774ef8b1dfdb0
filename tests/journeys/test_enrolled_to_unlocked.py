"""A tablet from its enrolment through a PIN, a part, an idle time and back; a PIN shows no price."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from shopapp.models import Device, Job, JobAssignment, PartUsed, Person
from tests.factories import PASSWORD, JobFactory
from tests.factories.devices import PIN, with_pin
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

COST, PRICE = "731.01", "842.35"


def a_job(technician: Person, owner: Person) -> Job:
    """Work for both of them, with a part that has a cost and a price."""
    job = JobFactory.create(technician=technician, work_order__stage="diagnosis")
    JobAssignment.objects.create(job=job, person=owner)
    now = timezone.now()
    row = {"description": "Drive shaft", "quantity_milli": 1_000, "logged_by": owner}
    prices = {"unit_cost_e4": 7_310_100, "unit_price_e4": 8_423_500}
    PartUsed.objects.create(job=job, happened_at=now, recorded_at=now, **row, **prices)
    return job


def enrol(tablet: Watched, owner: Person) -> None:
    """On the tablet itself; the owner's sign-in ends there."""
    page = tablet.page
    steps.sign_in(tablet, owner)
    page.goto("/devices/")
    page.get_by_role("link", name="Enrol this tablet").click()
    page.get_by_label("Name of this tablet").fill("Bench tablet 1")
    page.get_by_label("Your password").fill(PASSWORD)
    steps.seen(tablet, "k-enrol")
    page.get_by_role("button", name="Enrol this tablet").click()
    expect(page.get_by_role("heading", name="Who is working?")).to_be_visible()
    steps.seen(tablet, "k-who")


def press(page: Page, digits: str) -> None:
    """The pad of the page, which sends the sixth digit on."""
    for digit in digits:
        page.get_by_role("button", name=digit, exact=True).click()


def works(tablet: Watched, person: Person) -> None:
    page = tablet.page
    page.get_by_role("link", name=person.name).click()
    steps.seen(tablet, "k-pin")
    press(page, PIN)
    expect(page.get_by_role("heading", name="My jobs")).to_be_visible()
    steps.seen(tablet, "k-mine")


def log_a_part(page: Page) -> None:
    form = page.locator("#job-part")
    form.get_by_label("What it is").fill("Shaft seal")
    form.get_by_label("How many").fill("2")
    form.get_by_role("button", name="Log the part").click()
    expect(page.locator("#work-order-actuals")).to_contain_text("Shaft seal")


def falls_asleep(page: Page) -> None:
    """Nobody touches the tablet for a quarter of an hour: by its own clock, and by the server's."""
    Device.objects.update(touched_at=timezone.now() - timedelta(minutes=13))
    page.clock.fast_forward("13:00")
    expect(page.get_by_role("heading", name="The tablet is locked")).to_be_visible()


def leaves_half_typed_findings(page: Page, job: Job) -> None:
    """Long text is kept in the browser for its writer; who takes the locked tablet over finds none."""
    page.goto(f"/work-orders/job/{job.pk}/findings/")
    page.get_by_label("What is really wrong").fill("Shaft seal is cut")
    kept = "() => Object.keys(localStorage).filter((key) => key.startsWith('shop-words:')).length"
    assert page.evaluate(kept) == 1
    Device.objects.update(touched_at=None)
    page.goto("/work-orders/")
    page.get_by_role("button", name="Somebody else", exact=True).click()
    expect(page.get_by_role("heading", name="Who is working?")).to_be_visible()
    assert page.evaluate(kept) == 0


def test_tablet_keeps_what_is_half_typed_behind_its_lock(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person
) -> None:
    tablet, job = open_browser(768, 1024, has_touch=True), a_job(tobiah, maren)
    page = tablet.page
    page.clock.install()
    for person in (tobiah, maren):
        with_pin(person, at=timezone.now())

    enrol(tablet, maren)
    works(tablet, tobiah)
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    log_a_part(page)
    page.get_by_label(re.compile("^Drained")).fill("68")
    falls_asleep(page)
    tablet.check()
    press(page, "915372")
    expect(page.get_by_text("This is not the PIN of Tobiah Reyes. Try again.")).to_be_visible()
    press(page, PIN)

    expect(page.get_by_role("heading", name="The tablet is locked")).to_be_hidden()
    expect(page.get_by_label(re.compile("^Drained"))).to_have_value("68")
    assert tablet.take_troubles() == []
    assert PartUsed.objects.latest("pk").logged_by == tobiah

    leaves_half_typed_findings(page, job)
    works(tablet, maren)
    page.goto(f"/work-orders/job/{job.pk}/bench/")
    expect(page.locator("#work-order-actuals")).to_contain_text("Drive shaft")
    words = page.content()
    assert (COST in words, PRICE in words) == (False, False)
    steps.seen(tablet, "k-owner-by-pin")


def test_same_owner_sees_both_at_the_desk(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person
) -> None:
    """Otherwise the search above would find nothing anywhere."""
    desk, job = open_browser(1280), a_job(tobiah, maren)
    steps.sign_in(desk, maren)
    desk.page.goto(f"/work-orders/job/{job.pk}/bench/")

    words = desk.page.content()
    assert (COST in words, PRICE in words) == (True, True)

"""A technician ticks steps and a joint, bolt by bolt, without a network; the shop has it all afterwards."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from shopapp.actions.actor import Actor
from shopapp.models import JobStep, Person, Stage, StepTick
from tests.factories.steps import job_with_family, with_joint, with_step
from tests.journeys.conftest import Watched
from tests.journeys.tablets import give_pin, make_tablet, unsent, wait_until_kept
from tests.journeys.test_bench_offline import send_now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

By = Callable[[Person], Actor]
# stage, fastener, and whether it stands: the tap on the drawing was taken back
TICKED = [(1, 1, True), (1, 3, False), (1, None, True), (2, 1, True)]


def state_of(page: Page, stage: int) -> list[str]:
    """What is drawn of each fastener of a stage, in the order."""
    bolts = page.locator(f"[data-stage='{stage}'] [data-fastener]")
    return bolts.evaluate_all("(all) => all.map((one) => one.dataset.state)")


def tick_joint(page: Page) -> None:
    """The first stage by the next button, by a tap on the drawing, and the second asked about as a whole."""
    page.get_by_role("link", name="Tighten").click()
    panel = page.locator(".joint")
    first = panel.locator("[data-stage='1']")
    first.get_by_role("button", name="Tick number 1").click()
    expect(first.get_by_role("button", name="Tick number 2")).to_be_visible()
    first.locator("[data-fastener='3']").click()
    expect(first.get_by_role("status")).to_contain_text("2 of 3 ticked")
    assert state_of(page, 1) == ["ticked", "next", "ticked"]

    panel.get_by_role("button", name="Stage 2").click()
    second = panel.locator("[data-stage='2']")
    second.get_by_role("button", name="Tick number 1").click()
    asked = page.get_by_role("dialog")
    expect(asked).to_contain_text("The stage before this one is not ticked whole.")
    asked.get_by_role("button", name="Close").click()
    assert state_of(page, 2) == ["next", "open", "open"]

    panel.get_by_role("button", name="Stage 1").click()
    first.locator("[data-fastener='3']").click()
    page.get_by_role("dialog").get_by_role("button", name="Take it back").click()
    expect(first.get_by_role("status")).to_contain_text("1 of 3 ticked")
    first.get_by_role("button", name="Whole stage").click()
    page.get_by_role("dialog").get_by_role("button", name="Yes, all of them").click()
    # the stage is whole, so the next one is shown
    expect(second).to_be_visible()
    second.get_by_role("button", name="Tick number 1").click()
    expect(second.get_by_role("status")).to_contain_text("1 of 3 ticked")


def tick_all(tablet: Watched) -> None:
    """A plain step and the joint; all of it stands there again after the page was loaded anew."""
    page = tablet.page
    page.locator(".step", has_text="New plug gaskets").get_by_role("button", name="Tick").click()
    expect(page.locator("#job-steps [data-here]:visible")).to_have_count(1)
    tablet.picture("steps")
    tick_joint(page)
    tablet.picture("joint")
    unsent(tablet, 6)
    page.reload()
    expect(page.locator("[data-steps-missing]")).to_contain_text("Required and not ticked yet: 2")
    assert state_of(page, 1) == ["ticked"] * 3
    assert state_of(page, 2) == ["ticked", "next", "open"]


@pytest.mark.parametrize(("width", "height"), [(768, 1024), pytest.param(360, 800, marks=pytest.mark.soak)])
def test_steps_are_ticked_without_a_network_and_none_is_lost(
    *, open_browser: Callable[..., Watched], tobiah: Person, maren: Person, by: By, width: int, height: int
) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren), technician=tobiah)
    with_step(job, by=by(maren))
    joint = with_joint(job, by=by(maren))
    tablet = make_tablet(open_browser(width, height, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=2)
    page.context.set_offline(True)
    page.goto(f"/bench/job/{job.pk}/")

    tick_all(tablet)
    assert not StepTick.objects.exists()

    page.context.set_offline(False)
    send_now(page)
    unsent(tablet, 0)
    page.goto(f"/bench/job/{job.pk}/")
    expect(page.locator("#job-steps [data-here]:visible")).to_have_count(0)
    assert state_of(page, 2) == ["ticked", "next", "open"]
    tablet.take_troubles()
    page.get_by_role("link", name="Tighten").click()
    tablet.check()
    told = StepTick.objects.filter(step=joint).order_by("happened_at")
    assert [(one.stage, one.fastener, one.struck_at is None) for one in told] == TICKED
    assert JobStep.objects.filter(is_done=True).values_list("text", flat=True).get() == "New plug gaskets"

"""Oil drained into a container and a part used lately, without a network: each counts once."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from playwright.sync_api import Locator, Page, expect

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.models import FluidEntry, Job, PartUsed, Person, Stage, WasteContainer, WasteKind, WastePour
from shopapp.queries.used_oil import level, with_level
from tests.factories.jobs import job_at
from tests.factories.spec_book import written_family
from tests.factories.waste import container_of
from tests.journeys.conftest import Watched
from tests.journeys.tablets import give_pin, make_tablet, unsent, wait_until_kept
from tests.journeys.test_bench_offline import send_now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

By = Callable[[Person], Actor]


def p60_job(tobiah: Person, maren: Person, *, by: By) -> Job:
    """A job of Tobiah's on a P60, and the same part used on another one before."""
    job, earlier = (job_at(Stage.IN_HAND, technician=tobiah) for _ in range(2))
    family = written_family(by(maren))
    for one in (job, earlier):
        one.engine.family = family
        one.engine.save(update_fields=["family"])
    seal = UsePartInput(quantity=Decimal(1), number="SE-10", description="Shaft seal")
    use_part(earlier.pk, seal, by=by(tobiah))
    return job


def drain(page: Page, *, drained: str, filled: str) -> Locator:
    """Everything but the container and the last tap."""
    page.get_by_role("link", name="Fluid", exact=True).click()
    panel = page.locator("#log-fluid")
    panel.get_by_role("button", name="Gearcase").click()
    expect(panel.get_by_label("Where")).to_have_value("Gearcase")
    expect(panel.get_by_label("Drained")).to_be_focused()
    panel.get_by_label("Drained").fill(drained)
    panel.get_by_label("Filled").fill(filled)
    panel.get_by_label("What did the old fluid look like?").select_option("milky")
    return panel


def levels() -> dict[str, int]:
    return {row.name: level(row).ml for row in with_level(WasteContainer.objects.all())}


def say_where(panel: Locator, name: str) -> None:
    panel.get_by_label(name).check()
    panel.get_by_role("button", name="Log the fluid").click()


def log_and_take_back(tablet: Watched) -> None:
    """Milky oil is not for the drum of used oil, which is said at once; then it is logged once too often."""
    page = tablet.page
    panel = drain(page, drained="", filled="350")
    # nothing was drained, so nothing can have gone into it
    say_where(panel, "Water can")
    panel.get_by_label("Drained").fill("420")
    say_where(panel, "Oil drum")
    unsent(tablet, 0)
    tablet.picture("fluid-with-container")
    say_where(panel, "Water can")
    expect(page.locator("#bench-logged")).to_contain_text("Water can")
    unsent(tablet, 1)
    say_where(drain(page, drained="420", filled="350"), "Water can")
    unsent(tablet, 2)
    page.locator("#bench-logged").get_by_role("button", name="Undo").click()
    unsent(tablet, 3)


def test_drained_oil_is_in_its_container_once(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person, ilse: Person, by: By
) -> None:
    job = p60_job(tobiah, maren, by=by)
    container_of(by(ilse))
    container_of(by(ilse), name="Water can", kind=WasteKind.OILY_WATER, size_ml=20_000)
    tablet = make_tablet(open_browser(360, 800, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=3)
    page.context.set_offline(True)
    page.goto(f"/bench/job/{job.pk}/")
    log_and_take_back(tablet)
    assert levels() == {"Oil drum": 0, "Water can": 0}

    page.context.set_offline(False)
    send_now(page)
    unsent(tablet, 0)
    tablet.take_troubles()
    page.goto(f"/bench/job/{job.pk}/")
    tablet.check()
    assert levels() == {"Oil drum": 0, "Water can": 420}
    assert (FluidEntry.objects.count(), WastePour.objects.count()) == (2, 2)
    expect(page.locator("#job-rows")).to_contain_text("more came out than belongs in. Is there water in it?")
    tablet.picture("fluid-reckoned-up")


def test_part_used_lately_is_two_taps_and_a_number(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person, by: By
) -> None:
    job = p60_job(tobiah, maren, by=by)
    tablet = make_tablet(open_browser(768, 1024, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=3)
    page.context.set_offline(True)
    page.goto(f"/bench/job/{job.pk}/")

    page.get_by_role("link", name="Part", exact=True).tap()
    page.get_by_role("button", name="Shaft seal SE-10").tap()
    tablet.picture("part-used-lately")
    # the number is marked, so typing replaces it; the pad's own key sends
    page.keyboard.type("2")
    page.keyboard.press("Enter")
    expect(page.locator("#bench-logged")).to_contain_text("SE-10")
    unsent(tablet, 1)

    page.context.set_offline(False)
    page.reload()
    unsent(tablet, 0)
    row = PartUsed.objects.get(job=job)
    assert (row.number, row.description, row.quantity_milli) == ("SE-10", "Shaft seal", 2_000)
    tablet.take_troubles()
    tablet.check()

"""A technician reads the verdict while typing, without a network; the shop says the same when it gets it."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from shopapp.actions.actor import Actor
from shopapp.models import Person, Reading, Stage
from tests.factories.jobs import job_at
from tests.factories.spec_book import written_family
from tests.journeys.conftest import Watched
from tests.journeys.tablets import give_pin, make_tablet, unsent, wait_until_kept
from tests.journeys.test_bench_offline import send_now

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

By = Callable[[Person], Actor]
SAID = "out of limits; cylinders 17.1 % apart"


def type_compression(tablet: Watched, *, said: str) -> None:
    """Three cylinders, warm; the verdict stands there before anything is logged."""
    page = tablet.page
    page.get_by_role("link", name="Reading", exact=True).click()
    tablet.picture("reading-kinds")
    page.get_by_role("link", name="Compression", exact=True).click()
    panel = page.locator("#log-reading-compression")
    panel.get_by_label("Engine").select_option("warm")
    for number, value in enumerate((1050, 1000, 870), start=1):
        panel.get_by_label(f"Cylinder {number}", exact=True).fill(str(value))
    expect(panel.get_by_role("status").filter(has_text="apart")).to_contain_text(said)
    tablet.picture("reading-typed")
    panel.get_by_role("button", name="Log the reading").click()
    expect(page.locator("#bench-logged")).to_contain_text(said)


@pytest.mark.parametrize(("width", "height"), [(768, 1024), pytest.param(360, 800, marks=pytest.mark.soak)])
def test_verdict_is_said_at_once_and_stored_as_said(
    *,
    open_browser: Callable[..., Watched],
    tobiah: Person,
    maren: Person,
    by: By,
    width: int,
    height: int,
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    job.engine.family = written_family(by(maren))
    job.engine.save(update_fields=["family"])
    tablet = make_tablet(open_browser(width, height, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=2)
    page.context.set_offline(True)
    page.goto(f"/bench/job/{job.pk}/")

    type_compression(tablet, said=SAID)
    unsent(tablet, 1)
    assert Reading.objects.count() == 0

    page.context.set_offline(False)
    send_now(page)
    unsent(tablet, 0)
    tablet.take_troubles()
    page.goto(f"/bench/job/{job.pk}/")
    tablet.check()
    assert Reading.objects.get().verdict_words == SAID
    expect(page.locator("#job-readings")).to_contain_text(SAID)

"""Two people, one tablet, no network: each entry under the right name; nothing of others is kept on it."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from shopapp.models import JobNote, Person, Stage, TabletEntry
from tests.factories.jobs import agreed_job
from tests.journeys.canaries import found_of, plant
from tests.journeys.conftest import Watched
from tests.journeys.tablets import dump, give_pin, log_note, make_tablet, open_job, unsent, wait_until_kept

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def leave(page: Page) -> None:
    page.locator(".bench-head .menu summary").click()
    page.get_by_role("button", name="Somebody else", exact=True).click()
    expect(page.get_by_role("heading", name="Who is working?")).to_be_visible()


def lock_and_pick(page: Page, name: str) -> None:
    """Without a connection the lock asks for a name, since nobody can check a PIN."""
    page.locator(".bench-head .menu summary").click()
    page.get_by_role("button", name="Lock", exact=True).click()
    page.locator("#bench-lock").get_by_role("button", name=name, exact=True).click()
    expect(page.locator("#bench-lock")).to_be_hidden()


def somebody_unknown(page: Page, name: str) -> None:
    page.locator(".bench-head .menu summary").click()
    menu = page.locator(".bench-head .menu-body")
    menu.get_by_label("Somebody else").fill(name)
    menu.get_by_role("button", name="Go on under this name").click()
    expect(page.locator("[data-working]")).to_have_text(f"{name} (not confirmed)")


def both_were_here(window: Watched, *people: Person) -> Page:
    for person in people:
        give_pin(window, person)
        wait_until_kept(window, person, pages=2)
        if person != people[-1]:
            leave(window.page)
    return window.page


def test_each_entry_is_under_the_right_name(
    open_browser: Callable[..., Watched], tobiah: Person, wen: Person, maren: Person
) -> None:
    jobs = {person.pk: agreed_job(Stage.IN_HAND, technician=person) for person in (tobiah, wen)}
    tablet = make_tablet(open_browser(768, 1024, has_touch=True), owner=maren)
    page = both_were_here(tablet, wen, tobiah)

    page.context.set_offline(True)
    open_job(page, jobs[tobiah.pk])
    log_note(page, "by Tobiah")
    lock_and_pick(page, wen.name)
    page.wait_for_url("**/bench/")
    page.get_by_role("link", name=jobs[wen.pk].work_order.vessel.name).click()
    log_note(page, "by Wen")
    somebody_unknown(page, "Kai")
    log_note(page, "by Kai")
    unsent(tablet, 3)
    page.context.set_offline(False)
    page.goto("/bench/")
    expect(page.get_by_role("heading", name="The shop is in reach again")).to_be_visible()
    unsent(tablet, 0)

    written = {note.text: note.written_by for note in JobNote.objects.select_related("written_by")}
    assert written == {"by Tobiah": tobiah, "by Wen": wen}
    unproven = TabletEntry.objects.get(state="review")
    assert (unproven.person, "by Kai" in unproven.text) == (None, True)


def done_for_today(page: Page) -> None:
    page.locator(".bench-head .menu summary").click()
    page.get_by_role("button", name="Done for today: forget me here").click()
    expect(page.get_by_role("heading", name="Who is working?")).to_be_visible()


def test_tablet_keeps_nothing_of_others_and_no_price(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    # and what was agreed
    planted = plant([job]) | {"18.40", "24.00", "115.00"}
    tablet = make_tablet(open_browser(360, 800, has_touch=True), owner=maren)
    page = both_were_here(tablet, tobiah)
    page.goto(f"/work-orders/{job.work_order_id}/")
    assert "Kanaria0 Lind" in page.content()
    page.context.set_offline(True)
    open_job(page, job)
    log_note(page, "by Tobiah")
    kept = dump(tablet)

    assert found_of(planted, tablet) == []
    assert len(planted) >= 200
    assert [
        job.work_order.number in page for pages in kept["caches"].values() for page in pages.values()
    ].count(True) == 2
    page.context.set_offline(False)
    done_for_today(page)
    left = dump(tablet)
    assert [name for name in left["caches"] if not name.startswith("bench-files-")] == []
    stores = left["databases"]["shop-bench"]
    assert (stores["keys"], stores["drafts"], stores["entries"]) == ([], [], [])

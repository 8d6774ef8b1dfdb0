"""Handed out, signed at the dock without a network, in force once received, and wiped."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from shopapp.actions.dock_calls import take_back_dock_call
from shopapp.models import Approval, Customer, Device, DockCall, Person, Photo, QuoteRevision, TabletEntry
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.devices import with_pin
from tests.factories.dock_calls import handed_out
from tests.factories.jobs import stored
from tests.factories.quotes import desk, sent_quote
from tests.journeys.conftest import Watched
from tests.journeys.steps import sign_in
from tests.journeys.tablets import dump, give_pin, make_tablet, unsent, wait_until_kept

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Browse = Callable[..., Watched]
# what only the page of the dock call may hold, and only for its day
NAME, PHONE, BERTH = "Kanaria Lind", "+1 902 555 7431", "Canary pier 43"
PRICES = ("376.38", "354.80", "120.00", "18.40")
ADDRESS, EMAIL = "7431 Kanaria Lane", "kanaria@example.org"
SIGNER = "Sigrid Kanaria"
HELD = (NAME, PHONE, BERTH, *PRICES, SIGNER)


def sent_to_dock(ilse: Person) -> QuoteRevision:
    """A sent quote for a boat that lies at a pier, with a photo that its customer is shown."""
    visit = WorkOrderFactory.create(vessel__kept_on=BERTH, is_boat_here=False)
    told = {"name": NAME, "phone": PHONE, "address": ADDRESS, "email": EMAIL}
    Customer.objects.filter(pk=visit.customer_id).update(**told)
    visit.customer.refresh_from_db()
    job, kept = JobFactory.create(work_order=visit), stored()
    Photo.objects.create(
        work_order=visit,
        job=job,
        sha256=kept.sha256,
        width=kept.width,
        height=kept.height,
        byte_size=kept.byte_size,
        taken_by=ilse,
        taken_at=timezone.now(),
    )
    return sent_quote(ilse, at=timezone.now(), work_order=visit)


def hand_out_at_the_desk(window: Watched, sent: QuoteRevision) -> DockCall:
    page = window.page
    page.goto(f"/work-orders/{sent.quote.work_order_id}/")
    page.get_by_text("Hand out for a dock call today").click()
    page.get_by_label("Tablet").select_option("Bench tablet 1")
    page.get_by_role("button", name="Hand it out").click()
    expect(page.get_by_text("Tobiah Reyes, on Bench tablet 1")).to_be_visible()
    return DockCall.objects.get()


def sign_at_the_dock(page: Page) -> None:
    form = page.locator("form[data-entry=signature]")
    form.get_by_label("Choose A").check()
    expect(form.locator("[data-total-place]")).to_contain_text("$376.38")
    form.get_by_label("Your name").fill(SIGNER)
    pad = form.locator("canvas")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 40, box["y"] + 60)
    page.mouse.down()
    for step in range(12):
        page.mouse.move(box["x"] + 40 + 14 * step, box["y"] + 60 + (step % 3) * 12)
    page.mouse.up()
    form.get_by_role("button", name="Yes, do what I chose").click()
    expect(page.get_by_text("Signed, on this tablet.")).to_be_visible()


def held_of(kept: dict[str, Any], words: tuple[str, ...] = HELD) -> list[str]:
    text = json.dumps(kept, ensure_ascii=False)
    return [word for word in words if word in text]


def wait_until_wiped(window: Watched) -> dict[str, Any]:
    """What is left on the tablet, once nothing of the call is."""
    kept = dump(window)
    for _ in range(100):
        if not held_of(kept):
            break
        window.page.wait_for_timeout(100)
        kept = dump(window)
    return kept


@dataclass(frozen=True, kw_only=True)
class There:
    """A tablet that holds the page of a call, which the desk handed out in a browser of its own."""

    desk: Watched
    tablet: Watched
    call: DockCall


@pytest.fixture
def there(open_browser: Browse, ilse: Person, maren: Person, tobiah: Person) -> There:
    sent = sent_to_dock(ilse)
    tablet = make_tablet(open_browser(768, 1024, has_touch=True), owner=maren)
    with_pin(tobiah, at=timezone.now())
    at_desk = open_browser(1280, 800)
    sign_in(at_desk, ilse)
    call = hand_out_at_the_desk(at_desk, sent)
    give_pin(tablet, tobiah)
    # the own jobs, the call, its photo
    wait_until_kept(tablet, tobiah, pages=3)
    wait_for_parts(tablet.page)
    return There(desk=at_desk, tablet=tablet, call=call)


def signed_offline(there: There) -> None:
    page = there.tablet.page
    page.context.set_offline(True)
    page.get_by_role("link", name="Dock call today").click()
    expect(page.get_by_text(PHONE)).to_be_visible()
    assert page.locator(".photos img").evaluate("(one) => one.complete && one.naturalWidth > 0")
    sign_at_the_dock(page)
    unsent(there.tablet, 1)


def back_online(there: There) -> None:
    page = there.tablet.page
    page.context.set_offline(False)
    page.locator("#bench-unsent").click()
    page.get_by_role("button", name="Send now").click()
    unsent(there.tablet, 0)


def test_signed_without_a_network_is_in_force_once_received(there: There, tobiah: Person) -> None:
    page = there.tablet.page

    signed_offline(there)
    page.reload()
    expect(page.get_by_text("Signed, on this tablet.")).to_be_visible()
    assert (page.locator("form[data-entry=signature]").is_hidden(), Approval.objects.count()) == (True, 0)
    back_online(there)

    approval = Approval.objects.get()
    assert (approval.how, approval.with_tax_minor, approval.signed_name) == ("dock", 37_638, SIGNER)
    assert (approval.witness, len(approval.strokes) > 100) == (tobiah, True)
    there.desk.page.reload()
    expect(there.desk.page.get_by_text("Signed on a tablet, without a connection").first).to_be_visible()
    there.tablet.take_troubles()
    there.tablet.check()


def test_what_was_signed_is_all_that_stays_and_goes_once_received(there: There) -> None:
    signed_offline(there)
    waiting, kept = entry_of(there.tablet), dump(there.tablet)
    back_online(there)
    received = json.dumps(dump(there.tablet)["databases"])

    assert held_of(kept, (ADDRESS, EMAIL)) == []
    assert [word in waiting for word in (SIGNER, NAME, PHONE, BERTH, ADDRESS)] == [True] + [False] * 4
    assert [word in received for word in (SIGNER, "376.38", "strokes")] == [False] * 3
    there.desk.page.get_by_role("button", name="Take it back").click()
    expect(there.desk.page.get_by_text("Tobiah Reyes, on Bench tablet 1")).to_have_count(0)
    there.tablet.page.reload()
    assert held_of(wait_until_wiped(there.tablet)) == []


def wait_for_parts(page: Page) -> None:
    """What the page of the call is drawn with is kept too."""
    are_there = """async () => {
      const isKept = (path) => caches.match(`/static/${path}`, { ignoreVary: true });
      const parts = ["vendor/signature_pad/signature_pad.min.js", "js/signature.js", "css/counter.css"];
      return (await Promise.all(parts.map(isKept))).every(Boolean);
    }"""
    for _ in range(300):
        if page.evaluate(are_there):
            return
        page.wait_for_timeout(100)
    raise AssertionError("the scripts of the dock call are not kept")


def entry_of(window: Watched) -> str:
    """The text of the only entry that waits."""
    rows = dump(window)["databases"]["shop-bench"]["entries"]
    assert len(rows) == 1
    return str(rows[0]["text"])


@pytest.fixture
def kept_call(open_browser: Browse, ilse: Person, maren: Person, tobiah: Person) -> tuple[Watched, DockCall]:
    """The tablet holds the page of a call."""
    sent = sent_to_dock(ilse)
    tablet = make_tablet(open_browser(360, 800, has_touch=True), owner=maren)
    with_pin(tobiah, at=timezone.now())
    call = handed_out(sent.quote.work_order, Device.objects.get(), tobiah, by=ilse, at=timezone.now())
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=3)
    wait_for_parts(tablet.page)
    assert held_of(dump(tablet), (NAME, PHONE, BERTH, *PRICES)) == [NAME, PHONE, BERTH, *PRICES]
    return tablet, call


def test_page_that_is_looked_at_goes_when_its_call_is_taken_back(
    kept_call: tuple[Watched, DockCall], ilse: Person
) -> None:
    tablet, call = kept_call
    page = tablet.page
    page.goto(f"/bench/dock/{call.pk}/")
    expect(page.get_by_text(PHONE)).to_be_visible()
    take_back_dock_call(call.pk, by=desk(ilse, at=timezone.now()))

    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")

    page.wait_for_url("**/bench/")
    assert held_of(wait_until_wiped(tablet)) == []
    expect(page.get_by_role("link", name="Dock call today")).to_have_count(0)


def test_page_goes_when_the_day_is_over_without_a_network(
    kept_call: tuple[Watched, DockCall],
) -> None:
    tablet, call = kept_call
    page = tablet.page
    page.goto(f"/bench/dock/{call.pk}/")
    expect(page.get_by_text(PHONE)).to_be_visible()
    page.context.set_offline(True)

    page.clock.install(time=timezone.now() + timedelta(hours=25))
    page.reload()

    # led away, or told that nothing is kept: wherever the wiping was when the page was asked for again
    expect(page.get_by_text(PHONE)).to_have_count(0)
    page.goto("/bench/")
    assert held_of(wait_until_wiped(tablet)) == []


@pytest.mark.soak
def test_page_goes_with_whoever_is_done_for_today(kept_call: tuple[Watched, DockCall]) -> None:
    tablet, _call = kept_call
    page = tablet.page
    page.locator(".bench-head .menu summary").click()
    page.get_by_role("button", name="Done for today: forget me here").click()
    expect(page.get_by_role("heading", name="Who is working?")).to_be_visible()

    assert held_of(dump(tablet)) == []


@pytest.mark.soak
def test_nothing_chosen_is_asked_for_and_nothing_is_logged(kept_call: tuple[Watched, DockCall]) -> None:
    tablet, call = kept_call
    page = tablet.page
    page.context.set_offline(True)
    page.goto(f"/bench/dock/{call.pk}/")
    form = page.locator("form[data-entry=signature]")
    form.get_by_label("Your name").fill(SIGNER)

    form.get_by_role("button", name="Yes, do what I chose").click()

    first = form.locator("[type=radio]").first
    assert first.evaluate("(one) => one.validationMessage") == "Please choose one, or “Not now”."
    unsent(tablet, 0)
    form.get_by_text("I want none of this").click()
    form.get_by_role("button", name="No, thank you").click()
    expect(page.get_by_text("Signed, on this tablet.")).to_be_visible()
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    unsent(tablet, 0)
    assert Approval.objects.get().decision == "declined"
    assert TabletEntry.objects.get().state == "stored"
    tablet.take_troubles()

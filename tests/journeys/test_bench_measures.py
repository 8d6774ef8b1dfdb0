"""What a technician relies on: entries show at once, half-typed values survive, photos wait, undo counts."""

import re
import sys
from collections.abc import Callable

import pytest
import segno
from playwright.sync_api import Page, expect

from shopapp.models import FluidEntry, JobNote, Part, PartUsed, Person, Photo, Stage, TabletEntry
from tests.factories.jobs import agreed_job, picture
from tests.journeys.conftest import Watched
from tests.journeys.tablets import dump, give_pin, make_tablet, open_job, unsent, wait_until_kept

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# the promise is 200; a machine that runs other tests beside this one is slower than a tablet
MOST_MS = 1_000
# from the tap to the painted word, in the browser's own clock
UNTIL_SHOWN = """() => new Promise((done, failed) => {
  const button = document.querySelector("form[data-entry=planned] button");
  const told = document.getElementById("bench-logged");
  const words = button.form.dataset.says;
  setTimeout(() => failed(new Error("the entry was not shown")), 10_000);
  const begun = performance.now();
  new MutationObserver((_, watch) => {
    if (told.hidden || !told.textContent.includes(words)) return;
    watch.disconnect();
    requestAnimationFrame(() => setTimeout(() => done(performance.now() - begun)));
  }).observe(told, { attributes: true, childList: true, subtree: true });
  button.click();
})"""


def ms_until_shown(page: Page) -> float:
    took: float = page.evaluate(UNTIL_SHOWN)
    sys.stdout.write(f"\nshown after {took:.0f} ms without a network\n")
    return took


def fill_fluid(page: Page, *, drained: str) -> None:
    page.get_by_role("link", name="Fluid", exact=True).click()
    panel = page.locator("#log-fluid")
    panel.get_by_label("Where").fill("gearcase")
    panel.get_by_label("Drained").fill(drained)


def test_half_typed_values_survive_and_a_tap_shows_at_once(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    tablet = make_tablet(open_browser(360, 800, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    wait_until_kept(tablet, tobiah, pages=2)
    page.context.set_offline(True)
    open_job(page, job)
    fill_fluid(page, drained="680")
    expect(page.locator("#log-fluid [data-kept-at]")).to_contain_text("Kept here")
    page.reload()

    panel = page.locator("#log-fluid")
    expect(panel.get_by_label("Drained")).to_have_value("680")
    panel.get_by_label("What did the old fluid look like?").select_option(index=1)
    panel.get_by_role("button", name="Log the fluid").click()
    unsent(tablet, 1)
    page.wait_for_timeout(300)
    assert ms_until_shown(page) < MOST_MS
    unsent(tablet, 2)
    assert dump(tablet)["databases"]["shop-bench"]["drafts"] == []

    page.context.set_offline(False)
    page.reload()
    unsent(tablet, 0)
    assert FluidEntry.objects.get().drained_ml == 680
    assert PartUsed.objects.count() == 1


def log_photo(page: Page) -> None:
    page.get_by_role("link", name="Photo", exact=True).click()
    panel = page.locator("#log-photo")
    file = {"name": "groove.jpg", "mimeType": "image/jpeg", "buffer": picture(size=(800, 600))}
    panel.get_by_label("Photo").set_input_files(file)
    panel.get_by_label(re.compile("^What it shows")).fill("Groove")
    panel.get_by_role("button", name="Log the photo").click()
    expect(page.locator("#bench-logged")).to_contain_text("Groove")


def test_photo_waits_and_an_undo_takes_back(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    tablet = make_tablet(open_browser(768, 1024, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    open_job(page, job)
    wait_until_kept(tablet, tobiah, pages=1)
    page.context.set_offline(True)
    log_photo(page)
    # what the shop does not take back is not offered either
    expect(page.locator("#bench-logged").get_by_role("button", name="Undo")).not_to_be_visible()
    page.get_by_role("link", name="Note", exact=True).click()
    page.locator("#log-note").get_by_role("textbox").fill("wrong boat")
    page.get_by_role("button", name="Log the note").click()
    page.locator("#bench-logged").get_by_role("button", name="Undo").click()
    unsent(tablet, 3)
    page.locator("#bench-unsent").click()
    expect(page.locator("#bench-entries [data-state=undone]")).to_contain_text("wrong boat")

    page.context.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    unsent(tablet, 0)
    expect(page.locator("#bench-entries [data-state=stored]")).to_contain_text("Groove")
    tablet.take_troubles()
    tablet.check()
    assert Photo.objects.get().caption == "Groove"
    assert JobNote.objects.get().struck_at is not None
    assert TabletEntry.objects.count() == 3


# instead of a camera: a picture of a label, held still
CAMERA = """(picture) => {
  navigator.mediaDevices.getUserMedia = async () => {
    const image = new Image();
    image.src = picture;
    await image.decode();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [480, 360];
    const pen = canvas.getContext("2d");
    const draw = () => {
      pen.fillStyle = "white";
      pen.fillRect(0, 0, 480, 360);
      pen.drawImage(image, 90, 30, 300, 300);
    };
    setInterval(draw, 100);
    draw();
    return canvas.captureStream(10);
  };
}"""


def test_part_by_scan_in_three_taps(
    open_browser: Callable[..., Watched], tobiah: Person, maren: Person
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    Part.objects.create(number="IM-2207", description="Impeller")
    tablet = make_tablet(open_browser(768, 1024, has_touch=True), owner=maren)
    page = tablet.page
    give_pin(tablet, tobiah)
    open_job(page, job)
    label = segno.make("https://shop.example/parts/?q=IM-2207", error="m").png_data_uri(scale=8, border=4)
    page.evaluate(CAMERA, label)

    page.get_by_role("link", name="Part", exact=True).click()
    page.get_by_role("button", name="Scan the label").click()
    expect(page.get_by_label("Part number")).to_have_value("IM-2207")
    page.get_by_role("button", name="Log the part").click()
    expect(page.locator("#bench-logged [data-when=stored]")).to_be_visible()

    assert PartUsed.objects.get().number == "IM-2207"

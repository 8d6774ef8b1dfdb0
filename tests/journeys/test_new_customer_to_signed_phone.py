"""A new customer comes to the desk, and signs days later on their own phone what was found."""

import io
import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

from shopapp.models import Approval, Customer, Job, Person, Stage
from tests.journeys.conftest import Watched
from tests.journeys.test_arrival_to_gone import (
    choose_and_sign,
    find_the_cause,
    open_work_order,
    sign_in,
    write_the_quote,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def send_to_phone(desk: Watched) -> str:
    """The desk sends the quote it has just written; returns the address of the link."""
    page = desk.page
    page.get_by_role("link", name="See it as the customer will").click()
    page.get_by_role("button", name="Send this quote").click()
    page.get_by_role("link", name="Send it to their phone").click()
    # what was written at the arrival is not asked again
    expect(page.get_by_label("Phone number or email address")).to_have_value("604 555 0142")
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_role("heading", name="The link is ready")).to_be_visible()
    desk.check()
    return page.locator("#link-address").inner_text()


def read(phone: Watched, address: str) -> None:
    """Everything that matters stands on the phone, and what is asked fits its width."""
    page = phone.page
    page.goto(address)
    expect(page).to_have_url(re.compile("/approvals/decide/$"))
    for text in ("Gear oil looks milky", "New seals on the polished shaft", "New propeller shaft", "$499.77"):
        expect(page.get_by_text(text).first).to_be_visible()
    phone.check()
    phone.picture("phone-reads")


def see_the_answer(desk: Watched) -> str:
    """The desk sees how it was answered; returns the words of the record."""
    page = desk.page
    page.goto("/work-orders/")
    page.get_by_role("link", name="W-00001").click()
    answered = page.locator("#work-order-agreed")
    expect(answered).to_contain_text("Signed by link, on their own phone: Halvard Osei")
    expect(answered).to_contain_text("$499.77")
    desk.check()
    desk.picture("agreed-by-link")
    page.locator("#work-order-quotes").get_by_role("link").first.click()
    desk.check()
    desk.picture("preview-answered")
    address = page.get_by_role("link", name="Record of the answer").get_attribute("href")
    record = page.request.get(address)
    assert record.headers["content-type"] == "application/pdf"
    return " ".join(leaf.extract_text() for leaf in PdfReader(io.BytesIO(record.body())).pages)


def test_new_customer_signs_on_their_own_phone(
    open_browser: Callable[..., Watched], ilse: Person, tobiah: Person
) -> None:
    desk, bench = open_browser(1280), open_browser(768, 1024, has_touch=True)
    phone = open_browser(360, 800, has_touch=True)

    sign_in(desk, ilse)
    open_work_order(desk)
    sign_in(bench, tobiah)
    bench.page.get_by_role("link", name="W-00001").first.click()
    find_the_cause(bench)
    write_the_quote(desk)
    read(phone, send_to_phone(desk))
    choose_and_sign(phone, finger=True)
    expect(phone.page.get_by_text("You can close this page now.")).to_be_visible()
    expect(phone.page.get_by_text("tablet")).to_have_count(0)
    record = see_the_answer(desk)

    approval = Approval.objects.get()
    assert (approval.how, approval.witness, bool(approval.strokes)) == ("link", None, True)
    assert (approval.with_tax_minor, approval.signed_name) == (49_977, "Halvard Osei")
    assert [text for text in ("604 555 0142", "Halvard Osei", "$499.77") if text not in record] == []
    assert (Customer.objects.get().name, Job.objects.get().stage) == ("Halvard Osei", Stage.IN_LINE)

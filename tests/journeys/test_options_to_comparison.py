"""From two options to what a customer reads of them: weighed as it is typed, saved, read on a phone."""

from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from shopapp.models import Person, QuoteOption
from tests.factories.quotes import draft_quote
from tests.journeys import steps
from tests.journeys.conftest import Watched

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def read_on_phone(phone: Watched, address: str) -> None:
    page = phone.page
    page.goto(address)
    expect(page.get_by_role("heading", name="What you pay if it holds")).to_be_visible()
    expect(page.locator("main")).to_contain_text("I would take the shaft.")
    expect(page.locator("main")).not_to_contain_text("Margin")
    steps.seen(phone, "compared-phone")


def test_ways_are_compared_and_read_on_a_phone(open_browser: Callable[..., Watched], maren: Person) -> None:
    draft = draft_quote(maren, at=timezone.now())
    choice, seals = draft.choices.get(), QuoteOption.objects.get(choice__revision=draft, position=1)
    desk = open_browser(1280)
    steps.sign_in(desk, maren)
    page = desk.page
    page.goto(f"/quotes/{draft.pk}/edit/")

    page.get_by_role("link", name="How long will each hold?").click()
    panel = page.locator(f"#quote-comparison-{choice.pk}")
    expect(panel).to_contain_text("1 in 8 each season; usual in the trade")
    expect(page.get_by_label("How many of 100").first).to_be_hidden()
    page.locator(f"#id_option-{seals.pk}-chance").select_option("number")
    page.locator(f"#id_option-{seals.pk}-number").fill("30")
    page.locator(f"#id_option-{seals.pk}-follows").select_option(label="New shaft and seals")
    expect(panel).to_contain_text("3 in 10 each season; our judgement")
    expect(panel).to_contain_text("B – New shaft and seals, 5 days without the boat")
    page.get_by_label("A sentence of your own").fill("I would take the shaft.")
    steps.seen(desk, "compared-desk")
    page.get_by_role("button", name="Save and show the customer").click()
    expect(panel).to_contain_text("3 in 10 each season; our judgement")
    steps.add_line(
        page, title="New seals on the old shaft", kind="Part", what="Gasket", quantity="1", price="100"
    )
    # 376.38 and a gasket of 112.00 with its tax
    expect(panel).to_contain_text("$488")
    steps.seen(desk, "compared-builder")

    address = steps.link_to_phone(desk, steps.send(desk))
    read_on_phone(open_browser(360, 800), address)

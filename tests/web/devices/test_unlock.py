"""The lock: the server holds it too; the same person goes on where they were, the page's form key stays."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Device, Person
from tests.factories.devices import PIN

SignedIn = Callable[[Person], Client]
Idle = Callable[[], None]


def test_idle_tablet_asks_for_the_pin_again(by_pin: SignedIn, tobiah: Person, idle: Idle) -> None:
    tablet = by_pin(tobiah)
    idle()

    answer = tablet.get("/work-orders/?stage=test")
    page = tablet.get(answer["Location"]).content.decode()

    assert answer["Location"] == "/devices/unlock/?next=/work-orders/%3Fstage%3Dtest"
    assert ("PIN of Tobiah Reyes" in page, 'value="/work-orders/?stage=test"' in page) == (True, True)


def test_form_of_an_idle_tablet_is_not_taken(by_pin: SignedIn, tobiah: Person, idle: Idle) -> None:
    tablet = by_pin(tobiah)
    idle()

    answer = tablet.post("/work-orders/job/1/log-time/", {}, headers={"hx-request": "true"})

    assert (answer.status_code, answer["HX-Trigger"], "HX-Redirect" in answer) == (204, "bench-locked", False)


def test_right_pin_leads_back_to_the_page(by_pin: SignedIn, tobiah: Person, idle: Idle) -> None:
    tablet = by_pin(tobiah)
    idle()

    answer = tablet.post("/devices/unlock/", {"secret": PIN, "next": "/work-orders/?stage=test"})

    assert answer["Location"] == "/work-orders/?stage=test"
    assert tablet.get("/work-orders/").status_code == 200


@pytest.mark.parametrize("wanted", ["https://evil.example/", "//evil.example/", ""])
def test_unlock_leads_to_no_other_host(by_pin: SignedIn, tobiah: Person, wanted: str) -> None:
    answer = by_pin(tobiah).post("/devices/unlock/", {"secret": PIN, "next": wanted})

    assert answer["Location"] == "/"


def test_layer_over_a_page_is_opened_without_a_new_page(by_pin: SignedIn, tobiah: Person, idle: Idle) -> None:
    tablet = by_pin(tobiah)
    session, token = tablet.session.session_key, tablet.cookies["csrftoken"].value
    idle()

    answer = tablet.post("/devices/unlock/", {"secret": PIN}, headers={"hx-request": "true"})

    assert (answer.status_code, answer["HX-Trigger"], answer.content) == (204, "bench-open", b"")
    assert tablet.session.session_key != session
    assert tablet.cookies["csrftoken"].value == token
    assert Device.objects.get().person == tobiah


def test_wrong_pin_in_the_layer_answers_with_the_form_alone(
    by_pin: SignedIn, tobiah: Person, idle: Idle
) -> None:
    tablet = by_pin(tobiah)
    idle()

    answer = tablet.post("/devices/unlock/", {"secret": "915372"}, headers={"hx-request": "true"})

    content = answer.content.decode()
    assert (answer.status_code, content.count("<html"), "915372" in content) == (422, 0, False)
    assert 'id="bench-lock-form"' in content
    assert "This is not the PIN of Tobiah Reyes. Try again." in content
    assert tablet.get("/work-orders/").status_code == 302


def test_lock_of_nobody_leads_to_the_picker(tablet: Client) -> None:
    answers = [tablet.get("/devices/unlock/"), tablet.post("/devices/unlock/", {"secret": PIN})]

    assert [answer["Location"] for answer in answers] == ["/devices/who/", "/devices/who/"]

"""The lock: the server holds it too; the same person goes on where they were, the page's form key stays."""

import uuid
from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Device, Job, PartUsed, Person, RequestKey
from tests.factories import JobFactory
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


@pytest.fixture
def job(tobiah: Person) -> Job:
    return JobFactory.create(technician=tobiah, work_order__stage="diagnosis")


def part(tablet: Client, job: Job, **more: str) -> object:
    sent = {"description": "Shaft seal", "quantity": "2", "unit": "each"}
    return tablet.post(f"/work-orders/job/{job.pk}/use-part/", sent | more | {"once_key": str(uuid.uuid4())})


def test_form_that_met_the_lock_is_kept_and_sent_with_the_pin(
    by_pin: SignedIn, tobiah: Person, idle: Idle, job: Job
) -> None:
    tablet = by_pin(tobiah)
    idle()

    kept = part(tablet, job)
    wrong = part(tablet, job, bench_secret="915372")
    assert (kept.status_code, wrong.status_code, PartUsed.objects.count()) == (403, 403, 0)
    assert 'name="description" value="Shaft seal"' in kept.content.decode()
    assert f'action="/work-orders/job/{job.pk}/use-part/"' in kept.content.decode()
    assert "This is not the PIN of Tobiah Reyes." in wrong.content.decode()
    right = part(tablet, job, bench_secret=PIN)

    assert right["Location"] == f"/work-orders/job/{job.pk}/bench/"
    row = PartUsed.objects.get()
    assert (row.description, row.quantity_milli, row.logged_by) == ("Shaft seal", 2_000, tobiah)


def test_pin_beside_a_form_opens_no_page_of_the_desk(by_pin: SignedIn, maren: Person, idle: Idle) -> None:
    tablet = by_pin(maren)
    idle()

    answers = [tablet.post("/shop/terms/", {"bench_secret": secret}) for secret in ("", PIN)]

    assert [answer.status_code for answer in answers] == [403, 403]
    assert tablet.get("/work-orders/").status_code == 200


def test_pin_beside_forms_is_counted_too(by_pin: SignedIn, tobiah: Person, idle: Idle, job: Job) -> None:
    tablet = by_pin(tobiah)
    idle()

    answers = [part(tablet, job, bench_secret="915372") for _ in range(5)]
    shut = part(tablet, job, bench_secret=PIN)

    assert "Password of Tobiah Reyes" not in answers[3].content.decode()
    assert "Password of Tobiah Reyes" in shut.content.decode()
    assert PartUsed.objects.count() == 0


def test_hash_of_a_form_holds_no_pin(by_pin: SignedIn, tobiah: Person, idle: Idle, job: Job) -> None:
    """Otherwise whoever has the database could guess it from the request key."""
    tablet = by_pin(tobiah)
    part(tablet, job)
    idle()
    part(tablet, job, bench_secret=PIN)

    assert RequestKey.objects.count() == 2
    assert len(set(RequestKey.objects.values_list("payload_sha256", flat=True))) == 1

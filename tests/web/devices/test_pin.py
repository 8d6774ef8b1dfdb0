"""The PIN: it lets a person onto the bench; what it opens ends with the person's rights (T15, T16)."""

import logging
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Activity, BrowserSession, Device, Person, TimeEntry
from tests.factories import PASSWORD, JobFactory
from tests.factories.devices import PIN, enrolled, with_pin

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
WRONG = "915372"


def give(client: Client, person: Person, secret: str) -> object:
    return client.post(f"/devices/worker/{person.pk}/pin/", {"secret": secret})


def test_pin_page_is_a_plain_field(tablet: Client, tobiah: Person) -> None:
    content = tablet.get(f"/devices/worker/{tobiah.pk}/pin/").content.decode()

    assert 'inputmode="numeric" maxlength="6" autocomplete="off"' in content
    assert ("PIN of Tobiah Reyes" in content, content.count('type="password"')) == (True, 1)


def test_right_pin_leads_to_the_own_jobs(tablet: Client, tobiah: Person) -> None:
    answer = give(tablet, tobiah, PIN)
    page = tablet.get(answer["Location"], follow=True)

    assert page.redirect_chain == [("/bench/", 302)]
    content = page.content.decode()
    assert ("My jobs" in content, "Tobiah Reyes" in content, "/find/" in content) == (
        True,
        True,
        False,
    )


def test_right_pin_makes_no_desk_sign_in(tablet: Client, maren: Person) -> None:
    give(tablet, with_pin(maren, at=timezone.now()), PIN)

    assert set(tablet.session.keys()) == {"stay"}
    answers = [
        tablet.get(address).status_code for address in ("/shop/terms/", "/devices/", "/find/", "/today/")
    ]
    assert answers == [403] * 4


def test_session_and_form_key_are_new_for_another_person(tablet: Client, tobiah: Person, wen: Person) -> None:
    with_pin(wen, at=timezone.now())
    give(tablet, tobiah, PIN)
    first, token = tablet.session.session_key, tablet.cookies["csrftoken"].value

    give(tablet, wen, PIN)

    assert tablet.session.session_key != first
    assert tablet.cookies["csrftoken"].value != token
    assert BrowserSession.objects.count() == 1


def test_entry_at_the_bench_names_person_and_scope(tablet: Client, tobiah: Person, key: Key) -> None:
    job = JobFactory.create(technician=tobiah, work_order__stage="diagnosis", stage="diagnosis")
    give(tablet, tobiah, PIN)

    sent = {"person": tobiah.pk, "kind": "diagnosis", "hours": "0", "minutes": "30"}
    tablet.post(f"/work-orders/job/{job.pk}/log-time/", sent | key())

    assert TimeEntry.objects.get().logged_by == tobiah
    told = Activity.objects.filter(scope="bench").get()
    assert (told.actor, told.actor_name) == (f"person:{tobiah.pk}", "Tobiah Reyes")


def test_sixth_wrong_pin_needs_the_password_t16(
    tablet: Client, tobiah: Person, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO):
        answers = [give(tablet, tobiah, WRONG) for _ in range(6)]
        right = give(tablet, tobiah, PIN)

    wants = ["Password of Tobiah Reyes" in answer.content.decode() for answer in [*answers, right]]
    assert [answer.status_code for answer in [*answers, right]] == [422] * 7
    assert wants == [False] * 4 + [True] * 3
    assert (caplog.text.count("refused person:"), WRONG in caplog.text) == (7, False)
    assert Activity.objects.get().verb == "many wrong PINs"
    assert give(tablet, tobiah, PASSWORD).status_code == 302
    assert tablet.get("/work-orders/").status_code == 200


@pytest.mark.parametrize(
    "taken", [{"is_active": False}, {"is_technician": False}], ids=["switched off", "role taken"]
)
def test_person_switched_off_is_out_with_the_next_request_t15(
    by_pin: SignedIn, tobiah: Person, taken: dict[str, bool]
) -> None:
    tablet = by_pin(tobiah)
    assert tablet.get("/work-orders/").status_code == 200

    Person.objects.filter(pk=tobiah.pk).update(**taken)

    assert tablet.get("/work-orders/")["Location"] == "/devices/who/?next=/work-orders/"
    assert tobiah.name not in tablet.get("/devices/who/").content.decode()
    assert give(tablet, tobiah, PIN).status_code == 404


def test_session_without_the_tablet_opens_nothing(by_pin: SignedIn, tobiah: Person) -> None:
    tablet = by_pin(tobiah)
    del tablet.cookies["tablet"]

    assert tablet.get("/work-orders/")["Location"] == "/people/sign-in/?next=/work-orders/"


def test_tablet_without_the_session_opens_nothing(by_pin: SignedIn, tobiah: Person) -> None:
    tablet = by_pin(tobiah)
    del tablet.cookies["sessionid"]

    assert tablet.get("/work-orders/")["Location"] == "/devices/who/?next=/work-orders/"


def test_customer_who_had_the_tablet_is_out(tablet: Client, tobiah: Person) -> None:
    cookie = give(tablet, tobiah, PIN).cookies["customer"]

    assert (cookie.value, cookie["path"], cookie["max-age"]) == ("", "/approvals/", 0)


def test_pin_ends_a_desk_sign_in_in_the_same_browser(tablet: Client, maren: Person, tobiah: Person) -> None:
    tablet.force_login(maren)
    assert tablet.get("/devices/").status_code == 200

    give(tablet, tobiah, PIN)

    assert (tablet.get("/devices/").status_code, "_auth_user_id" in tablet.session) == (403, False)


def test_reading_writes_a_touch_at_most_once_a_minute(by_pin: SignedIn, tobiah: Person) -> None:
    tablet = by_pin(tobiah)
    before = Device.objects.get().touched_at

    tablet.get("/work-orders/")
    assert Device.objects.get().touched_at == before
    Device.objects.update(touched_at=before - timedelta(minutes=2))
    tablet.get("/work-orders/")

    assert Device.objects.get().touched_at > before


def test_form_of_the_person_before_is_refused_after_a_switch(
    tobiah: Person, wen: Person, maren: Person
) -> None:
    with_pin(wen, at=timezone.now())
    tablet = Client(enforce_csrf_checks=True)
    tablet.cookies["tablet"] = enrolled(maren, at=timezone.now())[1]
    tablet.get(f"/devices/worker/{tobiah.pk}/pin/")
    before = {"csrfmiddlewaretoken": tablet.cookies["csrftoken"].value}
    answers = [tablet.post(f"/devices/worker/{wen.pk}/pin/", {"secret": PIN} | before)]

    answers += [tablet.post("/devices/leave/", before), tablet.post("/devices/leave/")]

    assert [answer.status_code for answer in answers] == [302, 403, 403]


@pytest.mark.django_db(transaction=True)
def test_full_disk_does_not_shut_the_bench(by_pin: SignedIn, tobiah: Person) -> None:
    """Reading goes on when a touch can't be written; the tablet locks a little too early."""
    tablet = by_pin(tobiah)
    Device.objects.update(touched_at=timezone.now() - timedelta(minutes=2))
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA query_only = ON")
        try:
            answer = tablet.get("/work-orders/")
        finally:
            cursor.execute("PRAGMA query_only = OFF")

    assert answer.status_code == 200


@pytest.mark.parametrize("count", [1, 20])
def test_pin_costs_no_query_more_than_a_sign_in(
    by_pin: SignedIn, tobiah: Person, django_assert_num_queries: DjangoAssertNumQueries, count: int
) -> None:
    for _ in range(count):
        JobFactory.create(technician=tobiah)
    tablet = by_pin(tobiah)

    with django_assert_num_queries(8):
        tablet.get("/work-orders/")

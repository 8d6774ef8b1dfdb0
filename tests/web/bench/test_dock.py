"""The dock call of the day: at its tablet, by its person, on its day, and nowhere else."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.utils import timezone
from django.utils.html import escape
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.dock_calls import take_back_dock_call
from shopapp.models import Approval, Customer, DockCall, Person, QuoteRevision, WorkOrder
from shopapp.queries.customer_quotes import picked_of
from shopapp.queries.dock_calls import MOST_SETS, sets_of
from shopapp.queries.shown import stored_content
from shopapp.web.bench import views_entries
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.devices import PIN, browser_of, with_pin
from tests.factories.dock_calls import AtDock, at_dock
from tests.factories.entries import tablet_of
from tests.factories.quotes import desk, opened_link, sent_quote
from tests.web.bench.test_entries import send
from tests.web.bench.told import words_of
from tests.web.shared.hostile import NASTY_NAMES

pytestmark = pytest.mark.django_db

SignedIn = Callable[[Person], Client]
ZONE = ZoneInfo("America/Vancouver")
PHONE, HOME = "+1 902 555 0144", "4 Kelp Lane"
_TEMPLATE = re.compile(
    r'<template data-set="([^"]*)" data-total="([^"]*)" data-words="([^"]*)">(.*?)</template>', re.S
)


@dataclass(frozen=True, kw_only=True)
class Open:
    """The call, and the browser of its tablet at which its person works."""

    dock: AtDock
    client: Client

    @property
    def path(self) -> str:
        return f"/bench/dock/{self.dock.call.pk}/"


def visit_of(*, jobs: int = 1) -> WorkOrder:
    visit = WorkOrderFactory.create(vessel__kept_on="berth B 14")
    Customer.objects.filter(pk=visit.customer_id).update(name="Aud Nilsen", phone=PHONE, address=HOME)
    visit.customer.refresh_from_db()
    for position in range(1, jobs + 1):
        JobFactory.create(work_order=visit, position=position)
    return visit


def opened(dock: AtDock, person: Person) -> Client:
    client = browser_of(dock.tablet.token)
    client.post(f"/devices/worker/{person.pk}/pin/", {"secret": PIN})
    return client


@pytest.fixture
def opening(ilse: Person, maren: Person, tobiah: Person) -> Callable[..., Open]:
    """A visit with so many jobs in one sent quote, handed out to Tobiah a moment ago."""

    def begun(*, jobs: int = 1, sent_days_ago: int = 0) -> Open:
        moment = timezone.now()
        sent_at = moment - timedelta(days=sent_days_ago)
        sent = sent_quote(ilse, at=sent_at, work_order=visit_of(jobs=jobs))
        dock = at_dock(sent, tablet_of(maren, tobiah, at=moment), tobiah, by=ilse)
        return Open(dock=dock, client=opened(dock, tobiah))

    return begun


Opening = Callable[..., Open]


def test_page_tells_whom_where_and_for_how_much(opening: Opening) -> None:
    here = opening()

    page = words_of(here.client, here.path)

    assert [word in page for word in ("Aud Nilsen", PHONE, "berth B 14", "$0.00", HOME)] == [True] * 4 + [
        False
    ]
    # the total of the first option, with tax: as on the customer's own page
    assert page.count("$376.38") >= 2


def test_page_may_be_kept_for_its_person_until_the_day_is_over(opening: Opening, tobiah: Person) -> None:
    here = opening()

    answer = here.client.get(here.path)

    until = datetime.fromtimestamp(int(answer["X-Shopapp-Kept-Until"]) / 1000, tz=ZONE)
    assert answer["X-Shopapp-Kept-For"] == str(tobiah.pk)
    assert timedelta() < until - timezone.now() <= timedelta(hours=25)
    assert (until.hour, until.minute, until.second) == (0, 0, 0)


def test_own_jobs_lead_to_it_without_naming_the_customer(opening: Opening) -> None:
    here = opening()

    page = words_of(here.client, "/bench/")

    assert f'href="{here.path}" data-keep-page' in page
    assert [word in page for word in ("Aud Nilsen", PHONE, "berth B 14", "376.38")] == [False] * 4


@pytest.mark.parametrize("jobs", [1, 2])
def test_total_of_every_set_is_that_of_the_customers_page(opening: Opening, jobs: int) -> None:
    here = opening(jobs=jobs)
    content = stored_content(here.dock.sent)

    found = _TEMPLATE.findall(words_of(here.client, here.path))

    expected = [picked_of(content, picks) for picks in sets_of(content)]
    assert len(found) == 3**jobs
    assert [(seen, total, words) for seen, total, words, _html in found] == [
        (one.seen, one.totals["with_tax"], escape("; ".join(one.words))) for one in expected
    ]
    assert [
        one.totals["with_tax_shown"] in html for one, (*_more, html) in zip(expected, found, strict=True)
    ] == [True] * len(found)


def test_page_is_drawn_as_the_customers_own_is(opening: Opening, ilse: Person) -> None:
    here = opening()
    customer = Client()
    customer.get(f"/approvals/enter/{opened_link(here.dock.sent, ilse, at=timezone.now())[1]}/")

    there, page = words_of(customer, "/approvals/decide/"), words_of(here.client, here.path)

    drawn = re.compile(r'<div class="options">.*?</fieldset>', re.S)
    assert drawn.findall(there) == drawn.findall(page)
    assert len(drawn.findall(page)) == 1


def test_quote_with_too_many_sets_needs_a_connection(opening: Opening) -> None:
    here = opening(jobs=4)

    page = words_of(here.client, here.path)

    assert MOST_SETS < 3**4
    assert "too many choices to be signed without a connection" in page
    assert ('data-entry="signature"' in page, "$376.38" in page) == (False, False)


def test_answered_quote_is_not_asked_again(opening: Opening) -> None:
    here = opening()
    here.dock.sign(after=0)
    assert Approval.objects.count() == 1

    page = words_of(here.client, here.path)

    assert ('data-entry="signature"' in page, "No quote waits for an answer" in page) == (False, True)
    # 354.80 without tax is agreed now
    assert "$354.80" in page


def test_prices_that_have_run_out_are_told(opening: Opening, shop: Any) -> None:
    shop.quote_valid_days = 0
    shop.save()
    here = opening(sent_days_ago=2)

    page = words_of(here.client, here.path)

    number = here.dock.sent.quote.number
    assert f"The prices of quote {number} have run out." in page
    assert 'data-entry="signature"' not in page


# -- nobody else, nowhere else, on no other day ---------------------------------------------------------


def is_missing(client: Client, path: str) -> bool:
    """The same answer as for a call that is not there."""
    answer, missing = client.get(path), client.get("/bench/dock/999999/")
    return (answer.status_code, answer.content) == (404, missing.content)


def test_other_person_at_the_same_tablet_finds_nothing(opening: Opening, wen: Person) -> None:
    here = opening()
    with_pin(wen, at=timezone.now())
    client = opened(here.dock, wen)

    assert is_missing(client, here.path)
    assert "Dock call today" not in words_of(client, "/bench/")


def test_same_person_at_another_tablet_finds_nothing(
    opening: Opening, tobiah: Person, by_pin: SignedIn
) -> None:
    here = opening()
    client = by_pin(tobiah)

    assert is_missing(client, here.path)
    assert "Dock call today" not in words_of(client, "/bench/")


def test_browser_at_the_desk_finds_nothing(
    opening: Opening, ilse: Person, maren: Person, tobiah: Person, signed_in: SignedIn
) -> None:
    here = opening()

    assert [is_missing(signed_in(person), here.path) for person in (ilse, maren, tobiah)] == [True] * 3


def test_other_day_finds_nothing(opening: Opening) -> None:
    here = opening()
    yesterday = here.dock.call.call_date - timedelta(days=1)
    DockCall.objects.update(call_date=yesterday)

    assert is_missing(here.client, here.path)
    assert "Dock call today" not in words_of(here.client, "/bench/")


def test_call_that_was_taken_back_finds_nothing(opening: Opening, ilse: Person) -> None:
    here = opening()
    take_back_dock_call(here.dock.call.pk, by=desk(ilse, at=timezone.now()))

    assert is_missing(here.client, here.path)


def test_locked_tablet_shows_nothing(opening: Opening) -> None:
    here = opening()
    here.client.post("/devices/lock/")

    answer = here.client.get(here.path)

    assert (answer.status_code, "Aud Nilsen" in answer.content.decode()) == (302, False)


def test_no_other_page_of_the_bench_names_the_customer(opening: Opening, tobiah: Person) -> None:
    here = opening()
    job = here.dock.job
    job.assignments.create(person=tobiah)

    pages = words_of(here.client, "/bench/") + words_of(here.client, f"/bench/job/{job.pk}/")

    assert [word in pages for word in ("Aud Nilsen", PHONE, "376.38")] == [False] * 3


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_names_are_inert_t13(opening: Opening, name: str) -> None:
    here = opening()
    visit = here.dock.sent.quote.work_order
    visit.customer.name = visit.customer.phone = visit.vessel.kept_on = name[:30]
    visit.customer.save()
    visit.vessel.save()

    assert "<script>alert" not in words_of(here.client, here.path)


@pytest.mark.parametrize("jobs", [1, 3])
def test_page_takes_the_same_queries(
    *, opening: Opening, jobs: int, ilse: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    here = opening(jobs=jobs)

    with django_assert_num_queries(10):
        here.client.get(here.path)


# -- what the page sends ------------------------------------------------------------------------------


def test_signature_of_the_tablet_keeps_where_it_came_from(opening: Opening, tobiah: Person) -> None:
    here = opening()
    entry = here.dock.write(after=0)

    answer = send(browser_of(here.dock.tablet.token), [entry], sent_at=here.dock.tablet.at)

    approval = Approval.objects.get()
    assert answer.json()["entries"][0]["row"] == f"answer-{approval.pk}"
    assert (approval.address, approval.device) == ("127.0.0.1", "Bench tablet 1: ")
    assert QuoteRevision.objects.get().state == "decided"
    assert views_entries.MARK in answer


def test_desk_reads_what_waits_in_words(opening: Opening, ilse: Person, signed_in: SignedIn) -> None:
    here = opening()
    here.dock.sign(after=0, total="1.00")

    page = signed_in(ilse).get("/bench/review/").content.decode()

    assert [word in page for word in ("Signature", "Aud Nilsen", "1.00", "A – New seals")] == [True] * 4
    assert here.dock.sent.shown_sha256 not in page
    assert "Take it in" in page

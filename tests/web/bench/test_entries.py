"""Entries come in a list and are answered in a list, each by itself, under the mark of a true answer."""

import json
from datetime import datetime
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import PartUsed, Person, Stage, TabletEntry
from shopapp.queries.entries import Sent
from tests.factories.devices import browser_of
from tests.factories.entries import Tablet, mark_of, tablet_of
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

GASKET = {"description": "Plug gasket", "quantity": "2", "unit": "each"}


@pytest.fixture
def tablet(maren: Person, tobiah: Person) -> Tablet:
    """Enrolled a moment ago by the real clock, which the page asks."""
    return tablet_of(maren, tobiah, at=timezone.now())


def send(client: Client, sents: list[Sent], *, sent_at: datetime) -> Any:
    """The request of the tablet's own page."""
    told = [{"text": sent.text, "signature": sent.signature} for sent in sents]
    body = json.dumps({"sent_at": sent_at.isoformat(), "entries": told})
    return client.post("/bench/entries/", body, content_type="application/json")


def test_each_entry_is_answered_under_its_own_mark(tablet: Tablet, tobiah: Person) -> None:
    job, gone = job_at(Stage.IN_HAND, technician=tobiah), job_at(Stage.HERE, technician=tobiah)
    good = tablet.write("part", job, tobiah, GASKET, after=0)
    late = tablet.write("part", gone, tobiah, GASKET, after=0)

    answer = send(browser_of(tablet.token), [good, late, good], sent_at=tablet.at)

    stored = {"id": mark_of(good), "outcome": "stored", "reason": "", "row": f"part_used-{_only_part()}"}
    review = {"id": mark_of(late), "outcome": "review", "reason": TabletEntry.objects.get(job=gone).reason}
    assert (answer.status_code, answer.headers["X-Shopapp-Entries"]) == (200, "1")
    assert answer.json()["entries"] == [stored, review | {"row": ""}, stored]


def _only_part() -> int:
    return PartUsed.objects.get().pk


def test_lost_answer_is_told_again(tablet: Tablet, tobiah: Person) -> None:
    """T19 at the tablet: the answer was lost, the same entries come again."""
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sents = [tablet.write("part", job, tobiah, GASKET, after=0) for _ in range(3)]
    client = browser_of(tablet.token)

    first = send(client, sents, sent_at=tablet.at).json()["entries"]
    second = send(client, sents[::-1], sent_at=tablet.at).json()["entries"]

    assert (second[::-1], PartUsed.objects.count()) == (first, 3)


@pytest.mark.parametrize(
    "body",
    [
        "",
        "[]",
        '{"entries": []}',
        '{"sent_at": "2026-06-02T17:30:00Z", "entries": []}',
        '{"sent_at": "yesterday", "entries": [{"text": "", "signature": ""}]}',
        '{"sent_at": "2026-06-02T17:30:00Z", "entries": [{"text": 1, "signature": ""}]}',
        '{"sent_at": "2026-06-02T17:30:00Z", "entries": [{"text": "\\u0000", "signature": ""}]}',
        '{"sent_at": "2026-06-02T17:30:00Z", "entries": [{"text": "\\ud800", "signature": ""}]}',
        "[" * 50_000,
        json.dumps({"sent_at": "2026-06-02T17:30:00Z", "entries": [{"text": "", "signature": ""}] * 51}),
    ],
)
def test_what_is_no_list_of_entries_is_refused_whole(tablet: Tablet, body: str) -> None:
    answer = browser_of(tablet.token).post("/bench/entries/", body, content_type="application/json")

    assert (answer.status_code, "X-Shopapp-Entries" in answer.headers) == (422, False)
    assert not TabletEntry.objects.exists()


def test_tablet_that_was_ended_keeps_its_entries(tablet: Tablet, tobiah: Person) -> None:
    sent = tablet.write("part", job_at(Stage.IN_HAND, technician=tobiah), tobiah, GASKET, after=0)
    tablet.device.ended_at = tablet.at
    tablet.device.save()

    answer = send(browser_of(tablet.token), [sent], sent_at=tablet.at)

    assert (answer.status_code, "X-Shopapp-Entries" in answer.headers) == (401, False)
    assert not TabletEntry.objects.exists()


def test_post_of_another_page_is_refused(tablet: Tablet) -> None:
    """T14: the cookie alone does not send."""
    client = Client(enforce_csrf_checks=True)
    client.cookies["tablet"] = tablet.token

    answer = client.post("/bench/entries/", "{}", content_type="application/json")

    assert answer.status_code == 403

"""A forgotten clock is put right by the desk, with the reason; what is wrong is told at its field."""

import uuid
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.test import Client

from shopapp.models import ClockSpan, Person, Stage, TimeEntry
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def forgotten(tobiah: Person, now: datetime) -> ClockSpan:
    """On at 10:30 of the shop's day, and still running."""
    job = job_at(Stage.IN_HAND, technician=tobiah)
    return ClockSpan.objects.create(mark=uuid.uuid4(), person=tobiah, job=job, kind="repair", on_at=now)


def test_correct_logs_the_hours(ilse: Person, signed_in: SignedIn, key: Key, forgotten: ClockSpan) -> None:
    client, address = signed_in(ilse), f"/time-sheets/{forgotten.pk}/correct/"

    shown = client.get(address).content.decode()
    answer = client.post(address, key() | {"off_at": "2026-06-02T12:15", "reason": "asked him"})
    sheet = client.get("/time-sheets/?day=2026-06-02").content.decode()

    assert "Tobiah Reyes, Repair" in shown
    assert answer.headers["Location"] == "/time-sheets/"
    assert TimeEntry.objects.values_list("minutes", "happened_at").get() == (105, forgotten.on_at)
    assert sheet.count("put right by Ilse Brandt: asked him") == 1


@pytest.mark.parametrize(
    ("off_at", "reason", "sentence"),
    [
        ("2026-06-02T10:30", "asked", "Give a moment after the clock began"),
        ("2026-06-04T10:30", "asked", "Give a moment after the clock began"),
        ("noon", "asked", "This is not a day and a time."),
        ("2026-06-02T12:15", "", "How is that known? is missing."),
    ],
)
def test_correct_says_what_is_wrong(
    ilse: Person,
    signed_in: SignedIn,
    key: Key,
    forgotten: ClockSpan,
    off_at: str,
    reason: str,
    sentence: str,
) -> None:
    answer = signed_in(ilse).post(
        f"/time-sheets/{forgotten.pk}/correct/", key() | {"off_at": off_at, "reason": reason}
    )

    assert (answer.status_code, sentence in answer.content.decode()) == (422, True)
    assert not TimeEntry.objects.exists()


def test_correct_is_for_the_desk(tobiah: Person, signed_in: SignedIn, forgotten: ClockSpan) -> None:
    assert signed_in(tobiah).get(f"/time-sheets/{forgotten.pk}/correct/").status_code == 403
    assert forgotten.on_at + timedelta(0) == ClockSpan.objects.get().on_at

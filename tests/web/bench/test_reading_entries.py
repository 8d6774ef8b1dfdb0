"""A reading that a tablet sends becomes a reading of the job, judged by the shop; undone, it is struck."""

import uuid

import pytest
from django.utils import timezone

from shopapp.models import Person, Reading, ReadingKind, Stage, TabletEntry
from shopapp.queries.entry_words import field_words, kind_words
from shopapp.web.bench.forms_readings import ReadingEntryForm
from tests.factories.devices import browser_of
from tests.factories.entries import Tablet, mark_of, tablet_of
from tests.factories.jobs import job_at
from tests.web.bench.test_entries import send

pytestmark = pytest.mark.django_db

COMPRESSION = {
    "reading": "compression",
    "value_1": "1050",
    "value_2": "1000",
    "value_3": "870",
    "unit": "kpa",
    "warmth": "warm",
}


@pytest.fixture
def tablet(maren: Person, tobiah: Person) -> Tablet:
    return tablet_of(maren, tobiah, at=timezone.now())


def test_reading_is_stored_once_and_taken_back(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("reading", job, tobiah, COMPRESSION, after=0)
    client = browser_of(tablet.token)

    answers = [send(client, [sent], sent_at=tablet.at).json()["entries"] for _ in range(2)]

    row = Reading.objects.get()
    assert [one[0]["row"] for one in answers] == [f"reading-{row.pk}"] * 2
    assert (row.verdict_words, row.values.count()) == ("no limit known; cylinders 17.1 % apart", 3)
    undo = tablet.write("undo", job, tobiah, {"entry": str(mark_of(sent))}, after=0)
    send(client, [undo], sent_at=tablet.at)
    row.refresh_from_db()
    assert row.struck_reason == "taken back at the tablet"


@pytest.mark.parametrize(
    "content",
    [
        {},
        {"reading": "mood", "value": "5"},
        {"reading": "compression", "unit": "kpa"},
        {"reading": "voltage", "value": "twelve"},
        {"reading": "leak_down", "value": "100", "second_1": "120", "unit": "psi"},
        {"reading": "gearcase_vacuum", "value": "50", "second": "40", "unit": "kpa"},
    ],
)
def test_reading_that_can_not_be_waits_for_the_desk(
    tablet: Tablet, tobiah: Person, content: dict[str, str]
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("reading", job, tobiah, content, after=0)

    answer = send(browser_of(tablet.token), [sent], sent_at=tablet.at).json()["entries"][0]

    assert (answer["outcome"], Reading.objects.count()) == ("review", 0)
    assert TabletEntry.objects.get().reason == answer["reason"] != ""


def test_page_has_a_form_of_each_kind_with_ids_of_its_own() -> None:
    forms = ReadingEntryForm(locale="en_CA").for_each_kind()

    assert [one.taken for one in forms] == list(ReadingKind)
    ids = [field.id_for_label for one in forms for field in one]
    assert len(set(ids)) == len(ids)


def test_review_names_every_figure() -> None:
    told = field_words(
        {"reading": "leak_down", "value": "100", "second_12": "92", "second_x": str(uuid.UUID(int=1))}
    )

    assert kind_words("reading") == "Reading"
    assert told[1:3] == (("Reading", "100"), ("Second figure, cylinder 12", "92"))

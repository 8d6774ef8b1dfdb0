"""Each kind of entry has its one action and its one way back; what has none is for the desk."""

from collections.abc import Callable
from decimal import Decimal
from typing import get_args

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.entry_deeds import (
    Deed,
    OfBook,
    OfClock,
    OfJob,
    PlannedInput,
    UndoInput,
    do_deed,
    take_back,
)
from shopapp.actions.job_tests import RecordTestInput
from shopapp.actions.notes import NoteInput
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import JobNote, PartUsed, Person, Stage
from shopapp.web.bench.forms import PhotoForm
from shopapp.web.bench.kinds import KINDS
from tests.factories.jobs import agreed_job, job_at, plan_line

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def inputs_of(alias: object) -> set[type]:
    """The types that a ``type`` of several stands for."""
    found: set[type] = set()
    for one in get_args(alias.__value__):
        found |= inputs_of(one) if hasattr(one, "__value__") else {one}
    return found


def test_every_kind_of_entry_has_its_deed() -> None:
    # a photo's input is made with its picture
    made = {form.as_input.__annotations__["return"] for form in KINDS.values() if form is not PhotoForm}
    deeds = {*inputs_of(Deed), UndoInput}

    assert {one if isinstance(one, str) else one.__name__ for one in made} <= {one.__name__ for one in deeds}
    assert inputs_of(OfBook) < inputs_of(OfJob)
    assert inputs_of(OfJob) | inputs_of(OfClock) == inputs_of(Deed)


def test_only_the_clock_runs_without_a_job(tobiah: Person, by: By) -> None:
    with pytest.raises(Refused, match=r"The job that it names is not there\."):
        do_deed(NoteInput(text="x"), None, by=by(tobiah))


@pytest.mark.parametrize("kind", ["fluid", "labour"])
def test_only_parts_and_fees_are_used_as_planned(tobiah: Person, by: By, kind: str) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    data = PlannedInput(line=plan_line(job, kind).pk, quantity=Decimal(1))

    with pytest.raises(BadInput, match="a part or a fee of what was agreed"):
        do_deed(data, job.pk, by=by(tobiah))
    assert not PartUsed.objects.exists()


def test_note_is_taken_back_and_again_without_harm(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    row = do_deed(NoteInput(text="Line on the shaft"), job.pk, by=by(tobiah))

    for _ in range(2):
        take_back(row, by=by(tobiah))

    note = JobNote.objects.get()
    assert (row, note.struck_by) == (f"note-{note.pk}", tobiah)


def test_test_is_the_desks_to_take_back(tobiah: Person, by: By) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    row = do_deed(RecordTestInput(has_passed=True), job.pk, by=by(tobiah))

    with pytest.raises(Refused, match="Ask the desk"):
        take_back(row, by=by(tobiah))
    assert job.tests.count() == 1


@pytest.mark.parametrize(
    "row", ["", "wish-7", "clock-7", "photo-7", "part_used", "part_used-x", "2e802e50-b423-4c65-92e8-f0c3"]
)
def test_row_that_is_none_is_refused(tobiah: Person, by: By, row: str) -> None:
    with pytest.raises(Refused, match="Ask the desk"):
        take_back(row, by=by(tobiah))

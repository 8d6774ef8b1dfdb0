"""Notes add up: written by who works on the boat, struck by their writers, never rewritten."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.notes import LONGEST_NOTE, NoteInput, strike_note, write_note
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Job, JobNote, Person, Stage
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
SEEN = NoteInput(text=" Line on the shaft ")


def test_note_is_kept_with_who_and_when(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = write_note(job.pk, SEEN, by=by(tobiah))

    row.refresh_from_db()
    assert (row.text, row.written_by, row.happened_at) == ("Line on the shaft", tobiah, by(tobiah).at)
    assert Activity.objects.values_list("verb", "payload").get() == ("write note", '{"job": 1}')


@pytest.mark.parametrize("text", ["", "  ", "x" * (LONGEST_NOTE + 1)])
def test_note_of_nothing_or_too_much_is_refused(tobiah: Person, by: By, text: str) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(BadInput, match="a few words, at most 4000 characters"):
        write_note(job.pk, NoteInput(text=text), by=by(tobiah))


def test_closed_job_and_a_boat_of_others_take_no_note(tobiah: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(NotAllowed):
        write_note(job.pk, SEEN, by=by(wen))
    Job.objects.filter(pk=job.pk).update(stage=Stage.GONE)
    with pytest.raises(Refused, match="takes no more notes"):
        write_note(job.pk, SEEN, by=by(tobiah))
    assert not JobNote.objects.exists()


def test_people_strike_their_own_notes_and_the_desk_anybodys(
    tobiah: Person, wen: Person, ilse: Person, by: By
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    job.assignments.create(person=wen)
    row = write_note(job.pk, SEEN, by=by(tobiah))

    with pytest.raises(NotAllowed, match="what you wrote yourself"):
        strike_note(row.pk, by=by(wen))
    strike_note(row.pk, by=by(ilse))
    strike_note(row.pk, by=by(tobiah))

    row.refresh_from_db()
    assert (row.text, row.struck_by) == ("Line on the shaft", ilse)
    assert Activity.objects.filter(verb="strike note").count() == 1

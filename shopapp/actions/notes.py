"""Notes of a job: what was seen or done, in somebody's own words; they add up and are never rewritten."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import CLOSED_STAGES, JobNote

LONGEST_NOTE = 4_000


@dataclass(frozen=True, kw_only=True)
class NoteInput:
    """The words."""

    text: str


@transaction.atomic
def write_note(job_pk: int, data: NoteInput, *, by: Actor) -> JobNote:
    """Add a note to a job.

    Locks the work order, the job, and last the chain head. The key of the form, or the mark of the tablet's
    entry, keeps a second sender from a second note. If the power fails, note and record are there or neither.
    """
    job = lock_job(job_pk, by=by)
    if job.stage in CLOSED_STAGES:
        raise Refused(_("This job is closed; it takes no more notes."))
    text = data.text.strip()
    if not text or len(text) > LONGEST_NOTE:
        raise BadInput("text", data.text, _("a few words, at most %s characters") % LONGEST_NOTE)
    row = JobNote.objects.create(
        job=job, text=text, written_by=person_of(by), happened_at=by.at, recorded_at=by.recorded_at
    )
    facts = {"job": job.position}
    entry = Entry(verb="write note", record=row, facts=facts, work_order=job.work_order)
    activity.record([entry], by=by)
    return row


@transaction.atomic
def strike_note(pk: int, *, by: Actor) -> JobNote:
    """Strike out a note that is wrong; it stays readable. People strike their own, the desk anybody's.

    Locks the work order, the job, the note, and last the chain head; a second sender gets the struck note and
    leaves no second trace. If the power fails, all of it or nothing.
    """
    job = lock_job(JobNote.objects.values_list("job_id", flat=True).get(pk=pk), by=by)
    row, person = locked(JobNote.objects.filter(pk=pk)).get(), person_of(by)
    if row.struck_at is not None:
        return row
    if row.written_by_id != person.pk and not access.may_use_desk(person):
        raise NotAllowed(_("You can strike out what you wrote yourself. Ask the desk for other notes."))
    row.struck_at, row.struck_by = by.recorded_at, person
    row.save(update_fields=["struck_at", "struck_by"])
    facts = {"job": job.position}
    entry = Entry(verb="strike note", record=row, facts=facts, work_order=job.work_order)
    activity.record([entry], by=by)
    return row

"""Photos of a job: evidence that stays with it."""

from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor
from shopapp.actions.jobs import lock_job, person_of
from shopapp.actions.refusals import Refused
from shopapp.files.photos import StoredPhoto
from shopapp.models import CLOSED_STAGES, Photo

MOST_A_JOB = 100


@dataclass(frozen=True, kw_only=True)
class PhotoInput:
    """A photo that already lies in the store, and what it shows."""

    stored: StoredPhoto
    caption: str = ""
    is_of_arrival: bool = False


@transaction.atomic
def add_photo(job_pk: int, data: PhotoInput, *, by: Actor) -> Photo:
    """Name a stored photo on a job. The same photo again is the same row.

    Its file was written and synced by ``files.photos.store_photo`` before this transaction began, so a row
    never names a file that is not there. Locks the work order, the job, and last the chain head. A second
    sender gets the first row. If the power fails before the commit, ``sweep_photos`` removes the file.
    """
    job = lock_job(job_pk, by=by)
    if job.stage in CLOSED_STAGES:
        raise Refused(_("This job is closed; it takes no more photos."))
    known = Photo.objects.filter(job=job, sha256=data.stored.sha256).first()
    if known is not None:
        return known
    if Photo.objects.filter(job=job).count() >= MOST_A_JOB:
        raise Refused(_("This job has %s photos, and that is as many as it takes.") % MOST_A_JOB)
    photo = Photo.objects.create(
        work_order=job.work_order,
        job=job,
        sha256=data.stored.sha256,
        width=data.stored.width,
        height=data.stored.height,
        byte_size=data.stored.byte_size,
        caption=data.caption,
        is_of_arrival=data.is_of_arrival,
        taken_by=person_of(by),
        taken_at=by.at,
    )
    facts: Payload = {"job": job.position, "sha256": photo.sha256}
    activity.record([Entry(verb="add photo", record=photo, facts=facts, work_order=job.work_order)], by=by)
    return photo

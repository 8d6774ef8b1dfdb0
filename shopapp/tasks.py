"""What is done after the answer was sent, or at night, by the worker beside the server."""

from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from django.conf import settings
from django.tasks import TaskResultStatus, task
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from shopapp.documents.invoices import invoice_pdf
from shopapp.documents.papers import sweep_papers
from shopapp.files.backups import back_up
from shopapp.files.photos import sweep_photos
from shopapp.files.restoring import sweep_unfinished
from shopapp.models import Invoice
from shopapp.queries.backups import backups_in
from shopapp.queries.shop import the_shop

# when nobody works
NIGHT = time(2, 30)
# a file of a photo or a paper is written some moments before its row; a day is far more than that
LEFT_OVER = timedelta(days=1)


@task
def make_invoice_paper(invoice_pk: int) -> None:
    """Have the paper of an issued invoice ready before somebody asks for it; repeating it does nothing."""
    invoice_pdf(Invoice.objects.get(pk=invoice_pk))


@task
def back_up_nightly() -> None:
    """Make a backup, and plan the next one first: a night that fails does not end the nights.

    What killed processes left of photos and papers goes after it, as work of its own: the night's backup is
    there, and counts as made, whatever comes of that. If the machine was off at night, the worker makes it
    up when it is started.
    """
    now = timezone.now()
    plan_backups(now)
    back_up(Path(settings.BACKUP_DIR), at=now)
    sweep_leftovers.enqueue()


@task
def sweep_leftovers() -> None:
    """Remove what killed processes left of photos, papers and restores; repeating it does nothing."""
    sweep(timezone.now())


def plan_backups(now: datetime) -> datetime | None:
    """Plan the next backup if none is planned: tonight, or at once where there is none yet.

    Gives the moment, or ``None`` where one was planned already. Two who plan at once plan two; the first to
    run then finds the other and plans no more, so one is left.
    """
    is_planned = DBTaskResult.objects.filter(
        task_path=back_up_nightly.module_path, status=TaskResultStatus.READY
    ).exists()
    if is_planned:
        return None
    # the first of all is being made by the very task that asks
    is_first = not backups_in(Path(settings.BACKUP_DIR)) and not _is_running()
    moment = now if is_first else next_night(now, zone=ZoneInfo(the_shop().time_zone))
    back_up_nightly.using(run_after=moment).enqueue()
    return moment


def _is_running() -> bool:
    running = DBTaskResult.objects.filter(status=TaskResultStatus.RUNNING)
    return running.filter(task_path=back_up_nightly.module_path).exists()


def sweep(now: datetime) -> int:
    """Remove what killed processes left of photos, papers and restores; returns how many things."""
    before = now - LEFT_OVER
    return sweep_photos(before) + sweep_papers(before) + sweep_unfinished()


def next_night(now: datetime, *, zone: ZoneInfo) -> datetime:
    """The next half past two by the shop's clock, in UTC.

    Two moments of one zone would be compared by their clocks: in the hour that comes twice the night would
    be over and still to come, and backups would be made without end.
    """
    today = now.astimezone(zone).date()
    nights = (datetime.combine(today + timedelta(days=more), NIGHT, tzinfo=zone) for more in range(2))
    moments = (night.astimezone(UTC) for night in nights)
    return next(moment for moment in moments if moment > now)

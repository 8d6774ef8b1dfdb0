"""A small whole shop to be backed up: an issued invoice, photos, a chain of activity."""

from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection

from shopapp.actions.actor import Actor
from shopapp.files.backups import back_up
from shopapp.models import Invoice, Photo
from shopapp.queries.backups import Backup
from shopapp.triggers import remove_triggers
from tests.factories.invoices import issued
from tests.factories.jobs import stored

MADE_AT = datetime(2026, 6, 2, 2, 30, tzinfo=UTC)


def shop_with_photos(by: Actor) -> Invoice:
    """An issued invoice and two photos of its visit."""
    invoice = issued(by=by)
    for colour in ("red", "green"):
        Photo.objects.create(
            work_order=invoice.work_order,
            job=invoice.lines.get().job,
            taken_by=by.person,
            taken_at=by.at,
            **vars(stored(colour)),
        )
    return invoice


def backed_up(folder: Path | None = None, *, at: datetime = MADE_AT) -> Backup:
    """A backup of the test's database and media."""
    return back_up(folder or Path(settings.BACKUP_DIR), at=at)


def empty_the_place() -> None:
    """As a new machine has it: tables without rows, no photo, no paper."""
    remove_triggers(connection)
    call_command("flush", interactive=False, verbosity=0)
    for file in [*settings.PHOTO_DIR.glob("*.*"), *settings.PAPER_DIR.glob("*.*")]:
        file.unlink()


def media() -> list[str]:
    """The photos that lie there."""
    return sorted(path.name for path in settings.PHOTO_DIR.glob("*.webp"))

"""Which backups there are, and what the owner must hear about them. Reads the disk, never the database."""

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.utils.translation import gettext as _

# a file has this name only once it is whole and was read back
NAME = re.compile(r"shop-(\d{8}T\d{6}Z)\.zip")
MOMENT = "%Y%m%dT%H%M%SZ"
OLD_AFTER = timedelta(days=2)
# common practice, no source: below a twentieth a disk is nearly full
LEAST_FREE = 20


@dataclass(frozen=True, kw_only=True)
class Backup:
    """A finished backup in the folder of backups."""

    path: Path
    made_at: datetime
    byte_size: int


def backups_in(folder: Path) -> tuple[Backup, ...]:
    """The finished backups in a folder, newest first; none where there is no such folder."""
    found = sorted(_backups(folder), key=lambda one: one.made_at, reverse=True)
    return tuple(found)


def _backups(folder: Path) -> Iterator[Backup]:
    for path in folder.glob("shop-*.zip"):
        if (named := NAME.fullmatch(path.name)) is not None:
            made_at = datetime.strptime(named[1], MOMENT).replace(tzinfo=UTC)
            yield Backup(path=path, made_at=made_at, byte_size=path.stat().st_size)


def backup_warnings(*, now: datetime) -> tuple[str, ...]:
    """What the owner must hear this morning; nothing when all is well. No query."""
    try:
        newest = next(iter(backups_in(settings.BACKUP_DIR)), None)
        disk = shutil.disk_usage(settings.BACKUP_DIR)
    except OSError:
        return (_("The folder of the backups cannot be read. Ask whoever looks after the machine."),)
    least = max(disk.total // LEAST_FREE, 2 * newest.byte_size if newest is not None else 0)
    return (*_age_warnings(newest, now=now), *_room_warnings(disk.free, least=least))


def _age_warnings(newest: Backup | None, *, now: datetime) -> Iterator[str]:
    if newest is None:
        yield _("There is no backup yet. Until there is one, a broken disk takes everything with it.")
    elif now - newest.made_at > OLD_AFTER:
        days = {"days": (now - newest.made_at).days}
        yield _("The last backup is %(days)s days old. See that the worker runs, or make one by hand.") % days


def _room_warnings(free: int, *, least: int) -> Iterator[str]:
    if free < least:
        room = {"free": f"{free / 1e9:.1f}", "least": f"{least / 1e9:.1f}"}
        yield _("The disk is nearly full: %(free)s GB are free, %(least)s GB are needed for backups.") % room

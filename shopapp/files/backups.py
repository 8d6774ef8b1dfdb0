"""Makes backups while people work, and keeps the newest."""

import shutil
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.utils.translation import gettext as _

from shopapp.disk import one_at_a_time, sync
from shopapp.files.backup_archives import (
    ERASED,
    NAMES,
    BackupRefused,
    contents_of,
    database_name,
    unpack,
    write_archive,
)
from shopapp.files.backup_copies import copy_database
from shopapp.files.tombstones import add_lines, lines_of, tombstone_file
from shopapp.queries.backups import MOMENT, Backup, backups_in

KEPT = 14
UNFINISHED = ".making-"


def back_up(folder: Path, *, at: datetime) -> Backup:
    """Make a backup of database, photos and papers in a folder; it is there only once it was read back.

    The database comes first: a photo's file is written before its row commits, so whatever the copy names is
    on the disk, and ``sweep_photos`` waits. Then the oldest go, but the newest ``KEPT`` and this one stay.
    Raises BackupRefused; then nothing was added and nothing removed. If the power fails, a file that begins
    with ``.making-`` is left over, which the next backup removes.
    """
    try:
        with one_at_a_time(settings.BACKUP_DIR):
            made = _make(folder, at=at)
    except OSError as error:
        said = {"reason": error.strerror or str(error)}
        raise BackupRefused(_("The backup could not be written: %(reason)s.") % said) from error
    return made


def _make(folder: Path, *, at: datetime) -> Backup:
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    _remove_unfinished(folder)
    target = folder / f"shop-{at.astimezone(UTC).strftime(MOMENT)}.zip"
    if target.exists():
        raise BackupRefused(_("There is a backup of this very second already."))
    # a folder made by tempfile is for its owner alone, and so are the files in it
    with tempfile.TemporaryDirectory(prefix=UNFINISHED, dir=folder) as beside:
        _write(Path(beside), at=at)
        (Path(beside) / "backup.zip").rename(target)
    # beside the older backups too: whichever is restored, those who were erased since stay so
    add_lines(folder / ERASED, lines_of(tombstone_file()))
    sync(folder)
    _keep_newest(folder, made=target)
    return next(one for one in backups_in(folder) if one.path == target)


def _write(beside: Path, *, at: datetime) -> None:
    copy, archive = beside / "database", beside / "backup.zip"
    copied = copy_database(copy)
    facts = {
        "made_at": at.astimezone(UTC).isoformat(),
        "kind": connection.vendor,
        "migrations": copied.migrations,
        "head": copied.head,
    }
    archive.touch(mode=0o600)
    sources = {database_name(connection.vendor): copy, **dict(_media())}
    if tombstone_file().exists():
        sources[ERASED] = tombstone_file()
    write_archive(archive, sources=sources, facts=facts)
    copy.unlink()
    # read back: a backup that can't be read must not push out one that can
    unpack(archive, contents_of(archive), folder=None)


def _media() -> Iterator[tuple[str, Path]]:
    for room, folder in media_folders().items():
        for path in sorted(folder.glob("*.*")):
            if NAMES.fullmatch(name := f"{room}/{path.name}"):
                yield name, path


def media_folders() -> dict[str, Path]:
    """Where photos and papers lie, by their folder in a backup."""
    return {"photos": Path(settings.PHOTO_DIR), "papers": Path(settings.PAPER_DIR)}


def _keep_newest(folder: Path, *, made: Path) -> None:
    """A clock that was set back makes the newest file look old: the one just made stays in any case."""
    others = [one for one in backups_in(folder) if one.path != made]
    for one in others[KEPT - 1 :]:
        one.path.unlink()


def _remove_unfinished(folder: Path) -> None:
    for left in folder.glob(f"{UNFINISHED}*"):
        # the dump of a killed backup may still be writing: then the next backup removes what is left of it
        shutil.rmtree(left, ignore_errors=True)

"""Restores a backup into an empty place: unpacked beside, verified there, then moved in; all or nothing.

The database takes its place last and in one step, so a power cut leaves a whole shop or none. Photos and
papers that were moved before it do no harm: their names are their hashes, and a second run finds them.
"""

import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote

from django.apps import apps
from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.utils import DatabaseError
from django.utils.translation import gettext as _

from shopapp.disk import one_at_a_time, sync
from shopapp.files.backup_archives import ERASED, BackupRefused, Contents, contents_of, database_name, unpack
from shopapp.files.backup_copies import LONGEST_S, require_sound, run_postgres
from shopapp.files.backups import media_folders
from shopapp.files.tombstones import add_lines, lines_of, tombstone_file
from shopapp.models import Activity

UNFINISHED = ".restoring-"
BESIDE = "shopapp_check_"
DUMPED = ("--format=custom", "--no-owner", "--no-privileges")
QUIET = ("--no-owner", "--no-privileges", "--exit-on-error")


def restore(path: Path) -> Contents:
    """Restore a backup; the web server and the worker must be stopped.

    Whoever was erased since it was made is erased in it before anything takes its place: their tombstones
    are looked for in the backup, beside it and in this place. Every sign-in and every tablet has ended in it.

    Raises BackupRefused, and then nothing was touched: for a file that is not whole or not this shop's, for a
    place that holds rows or other files, and for a shop in which something is not true that always must be.
    If the power fails, run it again: then the place is as empty as before, or the whole shop is there.
    """
    contents = contents_of(path)
    _require_fitting(contents)
    data = Path(settings.PHOTO_DIR).parent
    with one_at_a_time(settings.BACKUP_DIR):
        _remove_unfinished(data)
        _require_empty_place(contents)
        with tempfile.TemporaryDirectory(prefix=UNFINISHED, dir=data) as beside:
            _restore(path, contents, beside=Path(beside))
    return contents


def sweep_unfinished() -> int:
    """Remove what a killed restore left, which is all that a shop knows; returns how many things.

    The next restore does so too, but after one that was killed at its very end there is none.
    """
    with one_at_a_time(settings.BACKUP_DIR):
        return _remove_unfinished(Path(settings.PHOTO_DIR).parent)


def _remove_unfinished(data: Path) -> int:
    folders = list(data.glob(f"{UNFINISHED}*"))
    for folder in folders:
        # a command that it had started may still write there; what stays goes the next time
        shutil.rmtree(folder, ignore_errors=True)
    if connection.vendor == "sqlite":
        part = _part_of(Path(connection.settings_dict["NAME"]))
        is_left = part.exists()
        part.unlink(missing_ok=True)
    else:
        is_left = _drop_database_beside()
    return len(folders) + is_left


def _restore(path: Path, contents: Contents, *, beside: Path) -> None:
    unpack(path, contents, folder=beside)
    add_lines(beside / ERASED, [*lines_of(path.parent / ERASED), *lines_of(tombstone_file())])
    copy = beside / database_name(contents.kind)
    if contents.kind == "sqlite":
        _check_sqlite(copy, contents, beside=beside)
    else:
        _check_postgres(copy, contents, beside=beside)
    placed: list[Path] = []
    # first of all: a line too many does no harm, one that is missing would bring somebody back
    add_lines(tombstone_file(), lines_of(beside / ERASED))
    try:
        _place_media(beside, placed=placed)
        _place_database(copy)
    except (BackupRefused, OSError):
        for file in placed:
            file.unlink()
        raise
    # from here on the shop is there: nothing is taken back any more
    if connection.vendor == "sqlite":
        sync(Path(connection.settings_dict["NAME"]).parent)


def _place_database(copy: Path) -> None:
    """In one step: the new file takes the name, or one transaction commits."""
    if connection.vendor == "sqlite":
        _place_sqlite(copy)
    else:
        database = connection.settings_dict["NAME"]
        run_postgres(
            "pg_restore", *QUIET, "--clean", "--if-exists", "--single-transaction",
            f"--dbname={database}", str(copy), database=database,
        )  # fmt: skip


def _require_fitting(contents: Contents) -> None:
    if contents.kind != connection.vendor:
        raise BackupRefused(
            _("The backup is of a %(kind)s database; DATABASE_URL names another kind.")
            % {"kind": contents.kind}
        )
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    if set(contents.migrations) - known:
        raise BackupRefused(_("A newer Shopapp made this backup. Install that one, then restore with it."))


def _require_empty_place(contents: Contents) -> None:
    """No row of the shop's own, and no photo or paper but those of this very backup."""
    try:
        tables = set(connection.introspection.table_names())
        models = [one for one in apps.get_app_config("shopapp").get_models() if one._meta.db_table in tables]
        is_empty = not any(model._base_manager.exists() for model in models)
        is_restored = not is_empty and Activity in models and _has_link(contents.head)
    except DatabaseError as error:
        raise BackupRefused(_("The database cannot be opened: %(reason)s.") % {"reason": error}) from error
    if is_restored:
        raise BackupRefused(
            _(
                "The shop of this backup is here already. To go on with it, run manage.py migrate; "
                "to go back to the backup, restore into an empty place."
            )
        )
    if not is_empty:
        raise BackupRefused(_("There is a shop here already. Restore into an empty place."))
    for room, folder in media_folders().items():
        for file in folder.glob("*.*"):
            if f"{room}/{file.name}" not in contents.files:
                raise BackupRefused(
                    _("There are other photos or papers in %(folder)s. Restore into an empty place.")
                    % {"folder": folder}
                )


def _has_link(head: str) -> bool:
    """Whether the newest link of a backup stands in the chain here: restored before, or made here."""
    seq, _colon, chain_hash = head.partition(":")
    return Activity.objects.filter(seq=int(seq), chain_hash=chain_hash).exists()


def _check_sqlite(copy: Path, contents: Contents, *, beside: Path) -> None:
    try:
        with closing(sqlite3.connect(copy)) as opened:
            require_sound(opened)
    except sqlite3.Error as error:
        raise BackupRefused(_("The database is damaged: %(reason)s.") % {"reason": error}) from error
    _verify(f"sqlite:///{copy}", contents, beside=beside)
    with closing(sqlite3.connect(copy)) as opened:
        opened.execute("PRAGMA journal_mode=DELETE")


def _check_postgres(copy: Path, contents: Contents, *, beside: Path) -> None:
    with _database_beside() as name:
        run_postgres("pg_restore", *QUIET, f"--dbname={name}", str(copy), database=name)
        facts = connection.settings_dict
        who = [quote(str(facts[key] or ""), safe="") for key in ("USER", "PASSWORD", "HOST")]
        address = f"postgres://{who[0]}:{who[1]}@{who[2]}:{facts['PORT'] or 5432}/{name}"
        _verify(address, contents, beside=beside)
        # what takes its place is the copy in which people were signed out and erased
        run_postgres("pg_dump", *DUMPED, f"--file={copy}", database=name)


@contextmanager
def _database_beside() -> Iterator[str]:
    """A second database for the check, which goes again."""
    name = _name_beside()
    try:
        with connection.cursor() as cursor:
            cursor.execute(f'CREATE DATABASE "{name}"')
    except DatabaseError as error:
        raise BackupRefused(
            _("The account of the database may not make a second one, which the check needs (CREATEDB).")
        ) from error
    try:
        yield name
    finally:
        _drop_database_beside()


def _name_beside() -> str:
    """The same each time, so that the next restore of this shop finds what a killed one left."""
    return BESIDE + hashlib.sha256(str(connection.settings_dict["NAME"]).encode()).hexdigest()[:12]


def _drop_database_beside() -> bool:
    """Whether it was there; asked first, since a transaction allows no dropping."""
    name = _name_beside()
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name])
        is_there = cursor.fetchone() is not None
        if is_there:
            cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
    return is_there


def _verify(address: str, contents: Contents, *, beside: Path) -> None:
    """Bring the unpacked shop up to date and verify it, by the commands anybody may run by hand."""
    around = os.environ | {
        "DATABASE_URL": address,
        "SHOPAPP_DATA": str(beside),
        "SHOPAPP_BACKUPS": str(beside / "backups"),
        "SHOPAPP_CHAIN_KEY": settings.CHAIN_KEY,
        "DJANGO_SETTINGS_MODULE": "shopapp.settings",
    }
    steps = (
        ("migrate", "--no-input", "--verbosity=0"),
        # whoever was signed out or lost a tablet since the backup would be in again
        ("end_sign_ins",),
        *((("finish_erasures",),) if lines_of(beside / ERASED) else ()),
        ("verify_shop", f"--noted={contents.head}"),
    )
    for words in steps:
        try:
            done = subprocess.run(  # noqa: S603  (the words are ours, and no shell reads them)
                [sys.executable, "manage.py", *words],
                cwd=settings.BASE_DIR,
                env=around,
                capture_output=True,
                text=True,
                timeout=LONGEST_S,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            raise BackupRefused(_("Checking the backup did not end within an hour.")) from error
        if done.returncode != 0:
            reason = next(reversed(done.stderr.strip().splitlines()), "")
            raise BackupRefused(_("The backup does not hold a whole shop. %(reason)s") % {"reason": reason})


def _place_media(beside: Path, *, placed: list[Path]) -> None:
    """Those that lie there already, after a power cut, are the same or are written anew."""
    for room, folder in media_folders().items():
        folder.mkdir(parents=True, exist_ok=True)
        for file in sorted((beside / room).glob("*.*")):
            target = folder / file.name
            if not target.exists() or _sha256(target) != _sha256(file):
                file.replace(target)
                placed.append(target)
        sync(folder)


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _part_of(target: Path) -> Path:
    return target.with_name(f"{target.name}.part")


def _place_sqlite(copy: Path) -> None:
    """Whoever still has the old file open would write into nothing: nobody may have it open."""
    target = Path(connection.settings_dict["NAME"])
    connection.close()
    part = _part_of(target)
    shutil.copyfile(copy, part)
    sync(part)
    try:
        with closing(sqlite3.connect(target, timeout=0, isolation_level=None)) as old:
            # fails while another process has it open in WAL mode, and takes that log's files away
            old.execute("PRAGMA journal_mode=DELETE")
            old.execute("BEGIN EXCLUSIVE")
            part.replace(target)
    except sqlite3.OperationalError as error:
        raise BackupRefused(
            _("The web server or the worker is running. Stop both, then try again.")
        ) from error
    finally:
        part.unlink(missing_ok=True)

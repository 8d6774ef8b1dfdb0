"""A consistent copy of the database while people work, of both kinds of database."""

import os
import sqlite3
import subprocess
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.utils.translation import gettext as _

from shopapp.files.backup_archives import BackupRefused

FIRST_HEAD = "0:" + "0" * 64
HEAD = "SELECT seq, chain_hash FROM shopapp_activityhead WHERE id = 1"
MIGRATIONS = "SELECT app, name FROM django_migrations ORDER BY app, name"
LONGEST_S = 3600


@dataclass(frozen=True, kw_only=True)
class Copied:
    """What the copy holds: the migrations in force and the newest link of the activity chain."""

    migrations: list[str]
    head: str


def copy_database(target: Path) -> Copied:
    """Copy the database as it stands in one moment. Raises BackupRefused when it can't be copied."""
    return _copy_sqlite(target) if connection.vendor == "sqlite" else _copy_postgres(target)


def _facts(cursor: Any) -> Copied:
    cursor.execute(MIGRATIONS)
    migrations = [f"{app}.{name}" for app, name in cursor.fetchall()]
    cursor.execute(HEAD)
    row = cursor.fetchone()
    return Copied(migrations=migrations, head=f"{row[0]}:{row[1]}" if row is not None else FIRST_HEAD)


def _copy_sqlite(target: Path) -> Copied:
    """In one step: a copy in several steps begins anew at each write and never ends under load."""
    wait = settings.LOCK_WAIT_SECONDS
    try:
        with (
            closing(sqlite3.connect(connection.settings_dict["NAME"], timeout=wait)) as source,
            closing(sqlite3.connect(target)) as copy,
        ):
            source.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")
            require_sound(copy)
            return _facts(copy.cursor())
    except sqlite3.Error as error:
        said = {"reason": str(error)}
        raise BackupRefused(_("The database could not be copied: %(reason)s.") % said) from error


def require_sound(copy: sqlite3.Connection) -> None:
    """Refuse a database of SQLite that is damaged inside."""
    said = [row[0] for row in copy.execute("PRAGMA integrity_check(1)")]
    if said != ["ok"]:
        raise BackupRefused(_("The database is damaged: %(reason)s.") % {"reason": said[0]})


def _copy_postgres(target: Path) -> Copied:
    """The dump shows the very moment whose head of the chain is noted: both read one snapshot."""
    own = connection.copy()
    try:
        with own.cursor() as cursor:
            cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
            cursor.execute("SELECT pg_export_snapshot()")
            snapshot = cursor.fetchone()[0]
            copied = _facts(cursor)
            words = ("--format=custom", "--no-owner", "--no-privileges", f"--snapshot={snapshot}")
            run_postgres("pg_dump", *words, f"--file={target}", database=own.settings_dict["NAME"])
            cursor.execute("ROLLBACK")
    finally:
        own.close()
    return copied


def run_postgres(program: str, *words: str, database: str) -> None:
    """A program of PostgreSQL to its end. The password goes by the environment, which others can't read."""
    facts = connection.settings_dict
    named = {
        "PGHOST": facts["HOST"],
        "PGPORT": str(facts["PORT"] or ""),
        "PGUSER": facts["USER"],
        "PGPASSWORD": facts["PASSWORD"],
        "PGSSLMODE": facts["OPTIONS"].get("sslmode", ""),
        "PGDATABASE": database,
    }
    around = os.environ | {name: value for name, value in named.items() if value}
    try:
        done = subprocess.run(  # noqa: S603  (the words are ours, and no shell reads them)
            [program, *words], env=around, capture_output=True, text=True, timeout=LONGEST_S, check=False
        )
    except FileNotFoundError as error:
        said = {"program": program}
        raise BackupRefused(_("%(program)s is not installed: it comes with PostgreSQL.") % said) from error
    except subprocess.TimeoutExpired as error:
        raise BackupRefused(_("%(program)s did not end within an hour.") % {"program": program}) from error
    if done.returncode != 0:
        raise BackupRefused(_failed(program, done.stderr))


def _failed(program: str, stderr: str) -> str:
    if "server version mismatch" in stderr:
        return _("%(program)s is older than the database. Install that of the database's version.") % {
            "program": program
        }
    reason = next(iter(stderr.strip().splitlines()), "")
    return _("%(program)s failed: %(reason)s") % {"program": program, "reason": reason}

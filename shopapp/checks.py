"""System checks: which journal the database keeps and why; a content security policy that is not empty."""

from collections.abc import Sequence
from typing import Any, cast

from django.conf import settings
from django.core.checks import CheckMessage, Error, Info, Tags, Warning, register
from django.db import connections

from shopapp import sqlite_library
from shopapp.triggers import guards, trigger_names


@register(Tags.database)
def journal_is_known(databases: Sequence[str] | None = None, **_: Any) -> list[CheckMessage]:
    """Say which journal mode SQLite uses and why; an unsafe one is an error."""
    messages: list[CheckMessage] = []
    for alias in databases or []:
        connection = connections[alias]
        if connection.vendor != "sqlite":
            continue
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA journal_mode")
            mode = str(cursor.fetchone()[0]).upper()
        messages.append(journal_message(mode=mode, version=sqlite_library.library_version()))
    return messages


def journal_message(*, mode: str, version: tuple[int, int, int]) -> CheckMessage:
    """What to tell about a journal mode under a version of the SQLite library."""
    shown = ".".join(str(part) for part in version)
    if mode == "WAL" and not sqlite_library.is_wal_safe(version):
        return Error(
            f"SQLite {shown} keeps a write-ahead log but lacks the fix for its reset bug: data may be lost.",
            hint="Install the pysqlite3 wheel, or let the settings choose the rollback journal.",
            id="shopapp.E001",
        )
    why = "this version has the fix for the WAL-reset bug" if mode == "WAL" else "chosen for safety"
    return Info(f"SQLite {shown}, journal mode {mode}: {why}.", id="shopapp.I001")


@register(Tags.database)
def guards_are_in_place(databases: Sequence[str] | None = None, **_: Any) -> list[CheckMessage]:
    """Warn of each guard that the database lacks, as after a migration that broke off half-way.

    Only a warning: an error would stop the very ``migrate`` that puts the guards back.
    """
    messages: list[CheckMessage] = []
    for alias in databases or []:
        if "shopapp_searchtext" not in connections[alias].introspection.table_names():
            continue
        missing = sorted({guard.name for guard in guards()} - trigger_names(connections[alias]))
        messages += [
            Warning(f"The database lacks the guard {name}.", hint="Run: manage.py migrate", id="shopapp.W001")
            for name in missing
        ]
    return messages


# what would let code in that is not the shop's own
_LETS_CODE_IN = ("'unsafe-inline'", "'unsafe-eval'", "'unsafe-hashes'", "*", "data:", "http:", "https:")


@register(Tags.security)
def policy_is_not_empty(**_: Any) -> list[CheckMessage]:
    """An empty content security policy, or one that lets other code in, is an error."""
    policy = cast("dict[str, list[str]]", getattr(settings, "SECURE_CSP", {}))
    if not policy or "script-src" not in policy:
        return [Error("The content security policy is empty.", id="shopapp.E002")]
    code = [*policy["script-src"], *policy.get("style-src", []), *policy.get("default-src", [])]
    if any(str(source) in _LETS_CODE_IN for source in code):
        return [Error("The content security policy lets in code from elsewhere.", id="shopapp.E003")]
    return []

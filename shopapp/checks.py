"""System checks: the database's journal and guards, a content policy that guards, and doors that hold."""

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


_DAY = 24 * 3600


@register(Tags.security)
def doors_are_guarded(**_: Any) -> list[CheckMessage]:
    """Sessions without our two limits, or passwords without our rule, are errors."""
    messages: list[CheckMessage] = []
    if settings.SESSION_ENGINE != "shopapp.web.shared.session_store":
        told = "Sessions are not kept where people and owners see and end them."
        messages.append(Error(told, id="shopapp.E004"))
    if not 0 < settings.SESSION_IDLE_SECONDS <= settings.SESSION_COOKIE_AGE <= _DAY:
        told = "A sign-in must end after some idle time, and in any case within a day."
        messages.append(Error(told, id="shopapp.E005"))
    rules = {one.get("NAME") for one in settings.AUTH_PASSWORD_VALIDATORS}
    if "shopapp.actions.passwords.ShopPasswords" not in rules:
        messages.append(Error("Any password would be taken.", id="shopapp.E006"))
    return messages


# made to be fast: whoever steals the table finds the passwords
_FAST_HASHERS = ("MD5PasswordHasher", "UnsaltedMD5PasswordHasher", "UnsaltedSHA1PasswordHasher")


@register(Tags.security, deploy=True)
def passwords_are_hashed_slowly(**_: Any) -> list[CheckMessage]:
    """A hasher for tests is an error where people work."""
    if settings.PASSWORD_HASHERS[0].rpartition(".")[2] in _FAST_HASHERS:
        return [Error("Passwords are hashed in a way that is quickly undone.", id="shopapp.E007")]
    return []


@register(Tags.security, deploy=True)
def owners_second_step_is_asked_for(**_: Any) -> list[CheckMessage]:
    """Warn where the app is reached over HTTPS and an owner's password alone would do."""
    if settings.HTTPS and not settings.OWNER_SECOND_STEP:
        told = "An owner's password alone opens everything, also from outside."
        return [Warning(told, hint="Unset SHOPAPP_OWNER_SECOND_STEP.", id="shopapp.W002")]
    return []

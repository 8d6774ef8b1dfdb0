"""Chooses the SQLite library: the bundled newer one where it is installed, else Python's own.

Write-ahead logging had a corruption bug (the WAL-reset race) that Debian's library may still carry;
the pysqlite3 wheel brings a fixed one. Must be imported before Django opens a database.
"""

import importlib
import sys
from contextlib import suppress
from typing import Any

# versions that carry the fix: 3.51.3 and later, and the back-ports to two older lines
_FIXED_SINCE = (3, 51, 3)
_BACK_PORTS = ((3, 50, 7), (3, 44, 6))
# name: (category, default), from sqlite.org, "Run-Time Limit Categories" and "Limits In SQLite"
_LIMITS = {"SQLITE_LIMIT_COLUMN": (2, 2_000), "SQLITE_LIMIT_VARIABLE_NUMBER": (9, 32_766)}


def use_bundled_library() -> None:
    """Put pysqlite3 in the place of sqlite3 where the wheel exists (Linux)."""
    with suppress(ImportError):
        bundled = importlib.import_module("pysqlite3")
        # Django asks for limits by the names that Python's own module gives them
        vars(bundled).update({name: category for name, (category, _) in _LIMITS.items()})
        sys.modules["sqlite3"] = bundled
        sys.modules["sqlite3.dbapi2"] = importlib.import_module("pysqlite3.dbapi2")


def connection_options() -> dict[str, Any]:
    """What ``connect`` needs besides the file: the bundled library lacks ``getlimit``, which Django asks."""
    connection = importlib.import_module("sqlite3").Connection
    if hasattr(connection, "getlimit"):
        return {}
    defaults = dict(_LIMITS.values())
    answer = {"getlimit": lambda self, category: defaults[category]}
    return {"factory": type("LimitedConnection", (connection,), answer)}


def library_version() -> tuple[int, int, int]:
    """The version of the SQLite library that connections will use."""
    return importlib.import_module("sqlite3").sqlite_version_info  # type: ignore[no-any-return]


def is_wal_safe(version: tuple[int, int, int]) -> bool:
    """Whether this version carries the fix for the WAL-reset corruption bug."""
    if version >= _FIXED_SINCE:
        return True
    return any(version[:2] == fixed[:2] and version >= fixed for fixed in _BACK_PORTS)


def journal_mode(version: tuple[int, int, int]) -> str:
    """WAL where it is safe, otherwise a rollback journal."""
    return "WAL" if is_wal_safe(version) else "DELETE"

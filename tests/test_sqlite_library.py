"""Which SQLite is used, and when its write-ahead log is safe."""

import importlib
import sqlite3

import pytest

from shopapp.sqlite_library import connection_options, is_wal_safe, journal_mode, library_version


# fixed in 3.51.3 and in the back-ports 3.50.7 and 3.44.6: the project's own design page on promises, after
# sqlite.org, "Write-Ahead Logging", section on the WAL-reset bug
@pytest.mark.parametrize(
    ("version", "is_safe"),
    [
        ((3, 7, 0), False),
        ((3, 40, 1), False),
        ((3, 44, 5), False),
        ((3, 44, 6), True),
        ((3, 44, 9), True),
        ((3, 45, 0), False),
        ((3, 46, 1), False),
        ((3, 49, 99), False),
        ((3, 50, 6), False),
        ((3, 50, 7), True),
        ((3, 50, 12), True),
        ((3, 51, 0), False),
        ((3, 51, 2), False),
        ((3, 51, 3), True),
        ((3, 51, 10), True),
        ((3, 52, 0), True),
        ((4, 0, 0), True),
    ],
)
def test_wal_is_safe_only_with_the_fix(version: tuple[int, int, int], is_safe: bool) -> None:
    assert is_wal_safe(version) is is_safe
    assert journal_mode(version) == ("WAL" if is_safe else "DELETE")


def test_library_version_is_what_the_library_says() -> None:
    connection = importlib.import_module("sqlite3").connect(":memory:")

    (text,) = connection.execute("SELECT sqlite_version()").fetchone()

    assert ".".join(str(part) for part in library_version()) == text


def test_connections_know_the_limits_django_asks() -> None:
    """Categories 2 and 9, and defaults: sqlite.org, "Run-Time Limit Categories", "Limits In SQLite"."""
    connection = sqlite3.connect(":memory:", **connection_options())

    limits = [connection.getlimit(sqlite3.SQLITE_LIMIT_COLUMN), connection.getlimit(9)]

    assert (sqlite3.SQLITE_LIMIT_COLUMN, sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER) == (2, 9)
    assert limits[0] == 2_000
    assert limits[1] >= 32_766

"""What the owner hears of backups and of the disk."""

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.conf import settings

from shopapp.queries import backups
from shopapp.queries.backups import MOMENT, backup_warnings, backups_in

NOW = datetime(2026, 6, 4, 8, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _roomy_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    settings.BACKUP_DIR.mkdir()
    room(monkeypatch, free=50)


def room(monkeypatch: pytest.MonkeyPatch, *, free: int) -> None:
    """A disk of 100 bytes, so many of them free."""
    usage = SimpleNamespace(disk_usage=lambda _folder: SimpleNamespace(total=100, free=free))
    monkeypatch.setattr(backups, "shutil", usage)


def made(ago: timedelta, *, size: int = 1) -> Path:
    path = settings.BACKUP_DIR / f"shop-{(NOW - ago).strftime(MOMENT)}.zip"
    path.write_bytes(b"x" * size)
    return path


def test_no_backup_is_told() -> None:
    made(timedelta(hours=1)).rename(settings.BACKUP_DIR / "other.zip")

    assert [one.split(".")[0] for one in backup_warnings(now=NOW)] == ["There is no backup yet"]


@pytest.mark.parametrize(("hours", "told"), [(1, 0), (48, 0), (49, 1)])
def test_backup_older_than_two_days_is_told(hours: int, told: int) -> None:
    made(timedelta(days=9))
    made(timedelta(hours=hours))

    warnings = backup_warnings(now=NOW)

    assert len(warnings) == told
    assert all(one.startswith("The last backup is 2 days old.") for one in warnings)


@pytest.mark.parametrize(("free", "size", "told"), [(5, 1, 0), (4, 1, 1), (20, 10, 0), (19, 10, 1)])
def test_nearly_full_disk_is_told(monkeypatch: pytest.MonkeyPatch, free: int, size: int, told: int) -> None:
    made(timedelta(hours=1), size=size)
    room(monkeypatch, free=free)

    warnings = backup_warnings(now=NOW)

    assert [one.split(":")[0] for one in warnings] == ["The disk is nearly full"] * told


def test_folder_that_has_gone_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(backups, "shutil", shutil)
    settings.BACKUP_DIR.rmdir()

    assert backup_warnings(now=NOW)[0].startswith("The folder of the backups cannot be read.")


def test_backups_come_newest_first() -> None:
    old, new = made(timedelta(days=2)), made(timedelta(days=1))

    assert [one.path for one in backups_in(settings.BACKUP_DIR)] == [new, old]

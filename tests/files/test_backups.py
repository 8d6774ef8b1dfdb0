"""Making backups: what is in one, and which stay."""

import json
import zipfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings

from shopapp.actions.activity import head_text
from shopapp.actions.actor import Actor
from shopapp.files import backups
from shopapp.files.backup_archives import BackupRefused, write_archive
from shopapp.models import Person
from shopapp.queries.backups import MOMENT, backups_in
from tests.files.shops import MADE_AT, backed_up, media, shop_with_photos

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("real_migrations")]


def older(days: int) -> Path:
    """Something that has the name of a backup made so many days before."""
    settings.BACKUP_DIR.mkdir(exist_ok=True)
    path = settings.BACKUP_DIR / f"shop-{(MADE_AT - timedelta(days=days)).strftime(MOMENT)}.zip"
    path.write_bytes(b"older")
    return path


def test_backup_holds_all_and_no_secret(ilse: Person, by: Callable[[Person], Actor]) -> None:
    shop_with_photos(by(ilse))

    made = backed_up()

    with zipfile.ZipFile(made.path) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        names = archive.namelist()
    assert [name for name in names if name.startswith("photos/")] == [f"photos/{one}" for one in media()]
    assert (manifest["made_at"], manifest["head"]) == (MADE_AT.isoformat(), head_text())
    assert "shopapp.0001_initial" in manifest["migrations"]
    assert settings.CHAIN_KEY not in json.dumps(manifest)
    assert made.path.stat().st_mode & 0o077 == 0


def test_newest_fourteen_stay_and_the_one_just_made(ilse: Person) -> None:
    old = [older(days) for days in range(1, 20)]
    ahead = older(-30)
    foreign = settings.BACKUP_DIR / "holiday.zip"
    foreign.write_bytes(b"")

    made = backed_up()

    kept = {one.path for one in backups_in(settings.BACKUP_DIR)}
    assert kept == {made.path, ahead, *old[:12]}
    assert foreign.exists()


def test_failed_backup_removes_nothing_and_leaves_nothing(
    ilse: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = [older(days) for days in range(1, 20)]

    def cut_short(path: Path, **given: object) -> None:
        write_archive(path, **given)
        path.write_bytes(path.read_bytes()[:-100])

    monkeypatch.setattr(backups, "write_archive", cut_short)

    with pytest.raises(BackupRefused):
        backed_up()
    assert sorted(settings.BACKUP_DIR.iterdir()) == sorted([*old, settings.BACKUP_DIR / "lock"])


def test_leftover_of_a_power_cut_goes_with_the_next(ilse: Person) -> None:
    left = settings.BACKUP_DIR / ".making-x"
    left.mkdir(parents=True)
    (left / "backup.zip").write_bytes(b"half")

    made = backed_up()

    assert sorted(path.name for path in settings.BACKUP_DIR.iterdir()) == ["lock", made.path.name]

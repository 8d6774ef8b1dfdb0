"""A restore is killed at each step it takes: the place is as empty as before, or the whole shop is there.

Running it again then brings the shop, or says that it is there. The everyday run takes a few of the steps,
``-m soak -s`` every one.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.files import restoring
from shopapp.files.backup_archives import BackupRefused
from shopapp.files.restoring import restore, sweep_unfinished
from shopapp.models import Invoice, Person, Photo
from shopapp.queries.broken_sums import first_broken_sum
from tests.faults.test_killed_at_each_step import at_steps, done, folder, kills, told
from tests.faults.test_killed_writer import forked
from tests.files.shops import backed_up, empty_the_place, media, shop_with_photos
from tests.processes import surroundings

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("real_migrations")]
EMPTY, WHOLE = (0, 0), (1, 2)
HERE = "The shop of this backup is here already"


@pytest.fixture
def backup(ilse: Person, by: Callable[[Person], Actor], monkeypatch: pytest.MonkeyPatch) -> Path:
    for name, value in surroundings().items():
        monkeypatch.setenv(name, value)
    forked.set_forkserver_preload(["tests.faults.writers", "tests.faults.stopping"])
    shop_with_photos(by(ilse))
    return backed_up().path


@pytest.fixture
def _already_verified(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(restoring, "_verify", lambda *_words, **_named: None)


def rows() -> tuple[int, int]:
    """Looked at as a server does that is started now."""
    connection.close()
    return Invoice.objects.count(), Photo.objects.count()


def emptied() -> None:
    connection.close()
    empty_the_place()
    # the process that restores must not find the file open
    connection.close()


def brought_back(backup: Path, *, found: tuple[int, int]) -> None:
    """What whoever finds the place like this does next, and what is there then."""
    connection.close()
    if found == EMPTY:
        restore(backup)
    else:
        with pytest.raises(BackupRefused, match=HERE):
            restore(backup)
    assert rows() == WHOLE
    assert media() == sorted(f"{sha256}.webp" for sha256 in Photo.objects.values_list("sha256", flat=True))
    assert (first_bad_link(), first_broken_sum()) == (None, None)
    assert left_over() == []


def left_over() -> list[str]:
    """What a restore makes for itself alone."""
    names = [path.name for path in folder().glob(".restoring-*")]
    if connection.vendor == "sqlite":
        return names + [path.name for path in Path(connection.settings_dict["NAME"]).parent.glob("*.part")]
    with connection.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database WHERE datname = %s", [restoring._name_beside()])
        return names + [name for (name,) in cursor.fetchall()]


@at_steps(60)
@pytest.mark.usefixtures("_already_verified")
def test_killed_restore_leaves_an_empty_place_or_the_whole_shop(backup: Path, apart: int) -> None:
    found = {EMPTY: 0, WHOLE: 0}

    for step in kills(apart):
        emptied()
        was_done = done("restore", step, path=str(backup), is_verified=True)
        state = rows()
        assert state in (EMPTY, WHOLE)
        brought_back(backup, found=state)
        found[state] += not was_done
        if was_done:
            break

    told(f"while they restored, {found[EMPTY]} before the shop was there", sum(found.values()))
    assert found[EMPTY] > 1
    assert found[WHOLE] >= 1


@pytest.mark.usefixtures("_already_verified")
def test_what_a_killed_restore_left_goes_at_night_too(backup: Path) -> None:
    left = settings.PHOTO_DIR.parent / ".restoring-left"
    left.mkdir()
    if connection.vendor == "sqlite":
        Path(f"{connection.settings_dict['NAME']}.part").touch()
    else:
        with connection.cursor() as cursor:
            cursor.execute(f'CREATE DATABASE "{restoring._name_beside()}"')

    removed = [sweep_unfinished(), sweep_unfinished()]

    assert (removed, left_over()) == ([2, 0], [])

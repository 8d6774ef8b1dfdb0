"""A backup is made while two processes write, and restored elsewhere: the shop there is whole."""

import secrets
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from shopapp.files.backup_archives import contents_of
from shopapp.models import BrowserSession, Device, Person
from tests.factories import VesselFactory
from tests.factories.jobs import stored
from tests.faults.test_killed_writer import forked, heard, start
from tests.files.shops import backed_up, media
from tests.models.rows import make
from tests.processes import manage, surroundings


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[dict[str, str]]:
    """Another machine: an empty database and an empty folder."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    if connection.vendor == "sqlite":
        yield {"DATABASE_URL": f"sqlite:///{folder}/shop.sqlite3", "SHOPAPP_DATA": str(folder)}
        return
    name = f"test_elsewhere_{secrets.token_hex(4)}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name}")
    here = surroundings()["DATABASE_URL"]
    yield {"DATABASE_URL": f"{here.rpartition('/')[0]}/{name}", "SHOPAPP_DATA": str(folder)}
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("real_migrations")
def test_backup_under_load_is_whole_elsewhere_t32(
    elsewhere: dict[str, str], ilse: Person, tobiah: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in surroundings().items():
        monkeypatch.setenv(name, value)
    forked.set_forkserver_preload(["tests.faults.writers"])
    VesselFactory()
    make(BrowserSession, person=ilse)
    make(Device)
    stored("red")
    running = [start(writer, 0) for writer in (1, 2)]
    before = len(heard(running, most=6))

    made = backed_up()

    after = before + len(heard(running, most=6))
    for one in running:
        one.process.kill()
        one.process.join(30)
    head = contents_of(made.path).head
    # each step is a link or two of the chain: what was acknowledged before is in it, and they went on writing
    assert before <= int(head.partition(":")[0])
    assert after >= before + 6
    restored = manage("restore", str(made.path), **elsewhere)
    assert restored.stderr == ""
    verified = manage("verify_shop", f"--noted={head}", **elsewhere)
    # one more link than in the backup: it tells that the sign-in and the tablet in it have ended
    after_it = f"Its head is {int(head.partition(':')[0]) + 1}:"
    assert (verified.returncode, after_it in verified.stdout) == (0, True)
    assert [path.name for path in Path(elsewhere["SHOPAPP_DATA"], "photos").glob("*.webp")] == media()
    again = manage("restore", str(made.path), **elsewhere)
    assert again.stderr.strip().endswith("There is a shop here already. Restore into an empty place.")
    assert made.path.parent == settings.BACKUP_DIR

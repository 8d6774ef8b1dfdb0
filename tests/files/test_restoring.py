"""Restoring: only into an empty place, and after a power cut a whole shop or none."""

from collections.abc import Callable
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.files import restoring
from shopapp.files.backup_archives import BackupRefused
from shopapp.files.restoring import restore
from shopapp.models import Activity, Invoice, Person, Shop
from shopapp.queries.broken_sums import first_broken_sum
from tests.factories import found_shop
from tests.files.shops import backed_up, empty_the_place, media, shop_with_photos

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("real_migrations")]


class PowerCutError(BaseException):
    """The power fails here."""


@pytest.fixture
def backup(ilse: Person, by: Callable[[Person], Actor]) -> Path:
    """A backup of a shop; T32 has it verified by the child process, which takes seconds."""
    shop_with_photos(by(ilse))
    return backed_up().path


@pytest.fixture
def _already_verified(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(restoring, "_verify", lambda *_args, **_named: None)


def rows() -> tuple[int, int]:
    return Invoice.objects.count(), Activity.objects.count()


@pytest.mark.usefixtures("_already_verified")
def test_restore_refuses_a_place_with_a_shop(backup: Path) -> None:
    before = rows(), media()

    with pytest.raises(BackupRefused, match="The shop of this backup is here already"):
        restore(backup)

    assert (rows(), media()) == before


@pytest.mark.usefixtures("_already_verified")
def test_restore_refuses_a_place_with_another_shop(backup: Path) -> None:
    empty_the_place()
    found_shop()

    with pytest.raises(BackupRefused, match="There is a shop here already"):
        restore(backup)

    assert (rows(), media(), Shop.objects.count()) == ((0, 0), [], 1)


@pytest.mark.usefixtures("_already_verified")
def test_restore_refuses_a_place_with_other_photos(backup: Path) -> None:
    empty_the_place()
    other = settings.PHOTO_DIR / f"{'0' * 64}.webp"
    other.write_bytes(b"of somebody else")

    with pytest.raises(BackupRefused, match="There are other photos or papers"):
        restore(backup)

    assert (rows(), media()) == ((0, 0), [other.name])


def test_restore_refuses_what_is_not_a_whole_shop_t33(backup: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    empty_the_place()

    def wrong(*_args: object, **_named: object) -> None:
        raise BackupRefused("a link is missing")

    monkeypatch.setattr(restoring, "_verify", wrong)

    with pytest.raises(BackupRefused, match="a link is missing"):
        restore(backup)

    assert (rows(), media()) == ((0, 0), [])


def cut_at(moves: int, *, is_done: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """The power fails at the n-th file that takes its place, just before or just after it."""
    real, left = Path.replace, [moves]

    def replace(self: Path, target: Path) -> Path:
        left[0] -= 1
        if left[0] == 0 and not is_done:
            raise PowerCutError
        found = real(self, target)
        if left[0] == 0:
            raise PowerCutError
        return found

    monkeypatch.setattr(Path, "replace", replace)


@pytest.mark.usefixtures("_already_verified")
@pytest.mark.parametrize("is_done", [False, True])
@pytest.mark.parametrize("moves", [1, 2, 3])
def test_power_cut_leaves_a_whole_shop_or_none(
    backup: Path, monkeypatch: pytest.MonkeyPatch, moves: int, is_done: bool
) -> None:
    whole = rows(), media()
    empty_the_place()
    (settings.PHOTO_DIR.parent / ".restoring-left").mkdir()

    with monkeypatch.context() as patch:
        cut_at(moves, is_done=is_done, monkeypatch=patch)
        if moves == 3 and connection.vendor == "postgresql":
            restore(backup)
        else:
            with pytest.raises(PowerCutError):
                restore(backup)

    assert rows() in ((0, 0), whole[0])
    if rows() == (0, 0):
        restore(backup)
    assert (rows(), media()) == whole
    assert (first_bad_link(), first_broken_sum()) == (None, None)
    assert not list(settings.PHOTO_DIR.parent.glob(".restoring-*"))


@pytest.mark.usefixtures("_already_verified")
def test_restore_from_elsewhere_newer_is_refused(backup: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    empty_the_place()
    real = restoring.contents_of(backup)
    real.migrations.append("shopapp.9999_not_there_yet")
    monkeypatch.setattr(restoring, "contents_of", lambda _path: real)

    with pytest.raises(BackupRefused, match="A newer Shopapp made this backup"):
        restore(backup)

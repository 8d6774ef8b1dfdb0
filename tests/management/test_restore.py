"""The command that restores; tests/faults has it do so, here it refuses."""

import hashlib
import hmac
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from shopapp.actions.actor import Actor
from shopapp.files import restoring
from shopapp.files.tombstones import write_tombstone
from shopapp.models import Person
from tests.files.shops import backed_up, shop_with_photos


def test_restore_refuses_a_foreign_file_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "letter.pdf").write_bytes(b"%PDF-1.7" + b" " * 80)

    with pytest.raises(CommandError, match=r"letter\.pdf is not a backup of a shop\."):
        call_command("restore", tmp_path / "letter.pdf")


@pytest.fixture
def _no_waiting_for_the_check(monkeypatch: pytest.MonkeyPatch) -> None:
    """T32 has a good backup verified by child processes; here nothing gets that far."""
    monkeypatch.setattr(restoring, "_verify", lambda *_args, **_named: None)


def shortened(whole: bytes) -> bytes:
    return whole[: len(whole) // 2]


def changed(whole: bytes) -> bytes:
    place = len(whole) // 3
    return whole[:place] + bytes([whole[place] ^ 0x40]) + whole[place + 1 :]


def foreign(whole: bytes) -> bytes:
    """Sealed by a key that is not this shop's."""
    return whole[:-64] + hmac.new(b"another", whole[:-64], hashlib.sha256).hexdigest().encode()


HARMED: dict[str, Callable[[bytes], bytes]] = {
    "truncated": shortened,
    "changed": changed,
    "foreign": foreign,
    "no zip": lambda _whole: b"a letter" * 40,
    "empty": lambda _whole: b"",
    "whole, where a shop is": lambda whole: whole,
}


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("real_migrations", "_no_waiting_for_the_check")
def test_live_data_stays_byte_for_byte_t33(
    ilse: Person, by: Callable[[Person], Actor], tmp_path: Path
) -> None:
    """Every kind of bad file, beside a live shop with rows, photos, papers and tombstones."""
    shop_with_photos(by(ilse))
    whole = backed_up().path.read_bytes()
    write_tombstone(1, day=date(2026, 6, 2))
    before = live_bytes(), live_rows()

    for name, harm in HARMED.items():
        file = tmp_path / "elsewhere" / "shop.zip"
        file.parent.mkdir(exist_ok=True)
        file.write_bytes(harm(whole))
        with pytest.raises(CommandError) as refused:
            call_command("restore", file)
        assert str(refused.value), name
        assert (live_bytes(), live_rows()) == before, name


def live_bytes() -> dict[str, str]:
    """Every file of the shop but locks, by its hash; the database's own as well where it is a file."""
    media = [path for path in settings.PHOTO_DIR.parent.rglob("*") if path.is_file()]
    files = [path for path in media if path.name != "lock" and "elsewhere" not in path.parts]
    if connection.vendor == "sqlite":
        connection.close()
        files.append(Path(connection.settings_dict["NAME"]))
    return {str(path): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def live_rows() -> dict[str, list[object]]:
    return {
        model.__name__: list(model._default_manager.order_by("pk").values_list())
        for model in apps.get_app_config("shopapp").get_models()
    }

"""The sealed file of a backup: whatever was cut off, changed, made elsewhere or made to harm is refused."""

import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

from shopapp.files.backup_archives import (
    MANIFEST,
    SEAL_LENGTH,
    VERSION,
    BackupRefused,
    contents_of,
    seal_file,
    unpack,
    write_archive,
)

DATABASE = "database/shop.sqlite3"
FACTS = {"made_at": "2026-06-02T02:30:00+00:00", "kind": "sqlite", "migrations": [], "head": "0:0"}
CHANGED = "was cut short or changed"


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    source, path = tmp_path / "source", tmp_path / "backup.zip"
    source.write_bytes(b"rows " * 400)
    write_archive(path, sources={DATABASE: source, f"photos/{'a' * 64}.webp": source}, facts=FACTS)
    return path


def refusal(path: Path) -> str:
    with pytest.raises(BackupRefused) as refused:
        contents_of(path)
    return str(refused.value)


def test_archive_gives_back_what_went_in(archive: Path, tmp_path: Path) -> None:
    contents, folder = contents_of(archive), tmp_path / "out"
    folder.mkdir()

    unpack(archive, contents, folder=folder)

    assert (folder / DATABASE).read_bytes() == b"rows " * 400
    assert {name: size for name, (size, _sha256) in contents.files.items()} == {
        DATABASE: 2_000,
        f"photos/{'a' * 64}.webp": 2_000,
    }


def test_any_flipped_byte_is_refused_t33(archive: Path) -> None:
    whole = archive.read_bytes()

    for place in range(0, len(whole), 29):
        archive.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        assert refusal(archive)


@pytest.mark.parametrize("left", [0, 3, 63, 64, 500, -1])
def test_truncated_file_is_refused_t33(archive: Path, left: int) -> None:
    archive.write_bytes(archive.read_bytes()[:left])

    assert refusal(archive)


def test_missing_file_is_refused(tmp_path: Path) -> None:
    assert refusal(tmp_path / "none.zip") == "none.zip cannot be opened: No such file or directory."


def test_backup_of_another_key_is_refused_t33(archive: Path, settings: Any) -> None:
    settings.CHAIN_KEY = "another shop's key"

    assert CHANGED in refusal(archive)


def forged(path: Path, names: dict[str, bytes], **manifest: Any) -> Path:
    """A file with the right seal all the same, as somebody with the key could make it."""
    said = {"format": "shopapp backup", "version": 1, **FACTS, "files": {}} | manifest
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in names.items():
            archive.writestr(name, data)
        archive.writestr(MANIFEST, json.dumps(said))
        archive.comment = b"0" * SEAL_LENGTH
    seal_file(path)
    return path


@pytest.mark.parametrize(
    "name",
    ["../outside", "/etc/outside", "photos/../../outside", "photos/..\\outside", "photos/a.webp", "lock"],
)
def test_names_that_lead_outside_are_refused_t33(tmp_path: Path, name: str) -> None:
    names = {DATABASE: b"", name: b"x"}

    path = forged(tmp_path / "b.zip", names, files={DATABASE: [0, ""], name: [1, ""]})

    assert refusal(path) == "b.zip does not hold what it says. Take another backup."


def test_more_than_the_manifest_says_is_refused_t33(tmp_path: Path) -> None:
    path = forged(tmp_path / "b.zip", {DATABASE: b"0" * 5_000_000}, files={DATABASE: [10, ""]})

    assert refusal(path) == "b.zip does not hold what it says. Take another backup."


def test_bomb_behind_a_small_header_stops_at_the_size_said_t33(tmp_path: Path) -> None:
    path = forged(tmp_path / "b.zip", {DATABASE: b"0" * 50_000_000}, files={DATABASE: [10, ""]})
    # both headers lie about the size: 50 MB are said to be 10 bytes
    path.write_bytes(
        path.read_bytes().replace((50_000_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    )
    seal_file(path)
    out = tmp_path / "out"
    out.mkdir()

    with pytest.raises(BackupRefused):
        unpack(path, contents_of(path), folder=out)
    assert sum(file.stat().st_size for file in out.rglob("*") if file.is_file()) <= 10


def test_changed_content_under_a_right_seal_is_refused(tmp_path: Path) -> None:
    path = forged(tmp_path / "b.zip", {DATABASE: b"0123456789"}, files={DATABASE: [10, "0" * 64]})

    with pytest.raises(BackupRefused):
        unpack(path, contents_of(path), folder=None)


def test_newer_format_is_refused_with_what_to_do(tmp_path: Path) -> None:
    path = forged(tmp_path / "b.zip", {}, version=VERSION + 1)

    assert refusal(path) == "A newer Shopapp made this backup. Install that one, then restore with it."

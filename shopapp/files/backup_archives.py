"""The file of a backup: a zip with a manifest, sealed by the chain's key over every byte before the seal.

The seal is the zip's comment, so at the file's end. Nothing is believed before it; no secret is in the file.
"""

import hashlib
import hmac
import json
import re
import shutil
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.utils.translation import gettext as _

from shopapp.disk import sync

# the second form may hold the list of those who were erased
FORMAT, VERSION = "shopapp backup", 2
MANIFEST = "manifest.json"
ERASED = "erased.jsonl"
NAMES = re.compile(
    r"database/shop\.(sqlite3|pgdump)|photos/[0-9a-f]{64}\.webp|papers/[0-9a-f]{64}\.pdf|"
    + "|".join(map(re.escape, (MANIFEST, ERASED)))
)
ZIP_START = b"PK\x03\x04"
SEAL_LENGTH = 64
AT_ONCE = 1 << 20
# 60,000 photos take about 9 MB of manifest
LONGEST_MANIFEST = 100_000_000
BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, KeyError)


class BackupRefused(Exception):
    """A sentence for whoever keeps the machine; nothing was touched."""


@dataclass(frozen=True, kw_only=True)
class Contents:
    """What a backup says of itself; ``files`` maps names to size in bytes and SHA-256."""

    made_at: str
    kind: str
    migrations: list[str]
    head: str
    files: dict[str, list[int | str]]


def write_archive(path: Path, *, sources: Mapping[str, Path], facts: Mapping[str, Any]) -> Contents:
    """Write the files and the manifest into a sealed file, which is on the disk when this returns."""
    with zipfile.ZipFile(path, "w", allowZip64=True) as archive:
        files = {name: _add(archive, name=name, source=source) for name, source in sources.items()}
        contents = Contents(files=files, **facts)
        manifest = {"format": FORMAT, "version": VERSION, **asdict(contents)}
        archive.writestr(MANIFEST, json.dumps(manifest, sort_keys=True), zipfile.ZIP_DEFLATED)
        archive.comment = b"0" * SEAL_LENGTH
    seal_file(path)
    sync(path)
    return contents


def _add(archive: zipfile.ZipFile, *, name: str, source: Path) -> list[int | str]:
    """Pictures, papers and dumps are packed already; only a database file of SQLite is worth it."""
    info = zipfile.ZipInfo(name)
    info.compress_type = zipfile.ZIP_DEFLATED if name.endswith(".sqlite3") else zipfile.ZIP_STORED
    with source.open("rb") as read, archive.open(info, "w", force_zip64=True) as written:
        return _copied(read, written, most=None)


def _copied(read: IO[bytes], written: IO[bytes], *, most: int | None) -> list[int | str]:
    """Size and SHA-256 of what was copied; stops behind the most that may come."""
    sha256, size = hashlib.sha256(), 0
    while (piece := read.read(AT_ONCE)) and (most is None or size <= most):
        size += len(piece)
        sha256.update(piece)
        written.write(piece)
    return [size, sha256.hexdigest()]


def seal_file(path: Path) -> None:
    """Put the seal over a zip whose comment is as long as a seal."""
    seal = _seal_of(path)
    with path.open("r+b") as file:
        file.seek(-SEAL_LENGTH, 2)
        file.write(seal)


def _seal_of(path: Path) -> bytes:
    seal = hmac.new(settings.CHAIN_KEY.encode(), FORMAT.encode(), hashlib.sha256)
    left = path.stat().st_size - SEAL_LENGTH
    with path.open("rb") as file:
        while left > 0 and (piece := file.read(min(AT_ONCE, left))):
            seal.update(piece)
            left -= len(piece)
    return seal.hexdigest().encode()


def contents_of(path: Path) -> Contents:
    """What is in a backup. Raises BackupRefused for a file that is not whole, not ours, or too new."""
    _require_seal(path)
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = _manifest(archive)
            contents = Contents(**{name: manifest[name] for name in Contents.__dataclass_fields__})
            _require_what_it_says(archive, contents)
    except BROKEN as error:
        raise _damaged(path) from error
    return contents


def _require_seal(path: Path) -> None:
    try:
        with path.open("rb") as file:
            is_zip = file.read(len(ZIP_START)) == ZIP_START
            file.seek(-SEAL_LENGTH, 2)
            seal = file.read()
    except OSError as error:
        # a copy made by root may be closed to the user of the app: no damage, and it must not look so
        raise BackupRefused(
            _("%(file)s cannot be opened: %(why)s.") % {"file": path.name, "why": error.strerror or error}
        ) from error
    if not is_zip:
        raise BackupRefused(_("%(file)s is not a backup of a shop.") % {"file": path.name})
    if not hmac.compare_digest(seal, _seal_of(path)):
        raise BackupRefused(
            _(
                "%(file)s was cut short or changed, or was made with another SHOPAPP_CHAIN_KEY. "
                "Take another backup, or set the key of the shop that made it."
            )
            % {"file": path.name}
        )


def _damaged(path: Path) -> BackupRefused:
    return BackupRefused(_("%(file)s does not hold what it says. Take another backup.") % {"file": path.name})


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    info = archive.getinfo(MANIFEST)
    if info.file_size > LONGEST_MANIFEST:
        raise ValueError(MANIFEST)
    manifest: dict[str, Any] = json.loads(archive.read(info))
    if manifest["format"] == FORMAT and manifest["version"] > VERSION:
        raise BackupRefused(_("A newer Shopapp made this backup. Install that one, then restore with it."))
    if manifest["format"] != FORMAT or manifest["version"] not in range(1, VERSION + 1):
        raise ValueError(FORMAT)
    return manifest


def _require_what_it_says(archive: zipfile.ZipFile, contents: Contents) -> None:
    """Each name once, of the known shapes (none leads outside), and as large as the manifest has it."""
    names = [info.filename for info in archive.infolist()]
    if sorted(names) != sorted([*contents.files, MANIFEST]) or not all(map(NAMES.fullmatch, names)):
        raise ValueError(MANIFEST)
    if database_name(contents.kind) not in names:
        raise KeyError(contents.kind)
    if any(archive.getinfo(name).file_size != size for name, (size, _sha256) in contents.files.items()):
        raise ValueError(MANIFEST)


def database_name(kind: str) -> str:
    """Where the copy of a database lies in a backup; KeyError for a kind there is not."""
    return {"sqlite": "database/shop.sqlite3", "postgresql": "database/shop.pgdump"}[kind]


def unpack(path: Path, contents: Contents, *, folder: Path | None) -> None:
    """Unpack into an empty folder, with no byte more than the manifest says; without one, only read it all.

    Raises BackupRefused when a file is not what the manifest says, or where there is no room.
    """
    needed = sum(int(size) for size, _sha256 in contents.files.values())
    if folder is not None and shutil.disk_usage(folder).free < 2 * needed:
        raise BackupRefused(_("There is not enough room on the disk to unpack and check the backup."))
    try:
        with zipfile.ZipFile(path) as archive:
            for name, said in contents.files.items():
                target = folder / name if folder is not None else Path("/dev/null")
                if folder is not None:
                    target.parent.mkdir(exist_ok=True)
                _unpack_one(archive, name=name, said=said, target=target)
    except BROKEN as error:
        raise _damaged(path) from error


def _unpack_one(archive: zipfile.ZipFile, *, name: str, said: list[int | str], target: Path) -> None:
    with archive.open(name) as read, target.open("wb") as written:
        if _copied(read, written, most=int(said[0])) != said:
            raise ValueError(name)
    if target.is_file():
        sync(target)

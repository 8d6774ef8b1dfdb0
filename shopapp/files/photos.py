"""Photos: refused or re-encoded without metadata, and kept under the SHA-256 of the re-encoded bytes.

The only place that decodes pictures; nothing of what was sent is ever served, only what is made here.
"""

import hashlib
import io
import os
import re
import struct
import tempfile
import threading
from dataclasses import dataclass
from datetime import datetime
from itertools import batched
from pathlib import Path
from typing import IO

from django.conf import settings
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from shopapp.calc.errors import BadInput
from shopapp.disk import one_at_a_time, sync
from shopapp.models import Photo

# Pillow only warns above its own limit; ours is lower and is checked from the header, before decoding
Image.MAX_IMAGE_PIXELS = None

FORMATS = ("JPEG", "PNG", "WEBP")
LONGEST_EDGE = 1600
QUALITY = 80
# A camera's progressive JPEG has about ten scans; each costs a walk over the whole picture.
MOST_SCANS = 64
JPEG_START = b"\xff\xd8\xff"
JPEG_SCAN, JPEG_END = b"\xff\xda", b"\xff\xd9"
# what begins a segment: pixels hold a nought or a restart after this byte, and neither has a length
JPEG_MARKER = re.compile(rb"\xff[^\x00\x01\xd0-\xd7\xff]")
HEAD, TAIL = 1024, 66_000
SWEPT_AT_ONCE = 400
# a large picture takes a few hundred MB while it is decoded: one after the other in each process
DECODING = threading.Semaphore(1)
FOREIGN = re.compile(rb"%PDF-|<svg|<html|<script|<!doctype|<\?php", re.IGNORECASE)
ZIP_END = b"PK\x05\x06"
NAME = re.compile(r"[0-9a-f]{64}")
BROKEN = (OSError, SyntaxError, ValueError, EOFError, ArithmeticError, LookupError, TypeError, struct.error)


@dataclass(frozen=True, kw_only=True)
class StoredPhoto:
    """A photo that lies in the store: its name, its size in pixels and in bytes."""

    sha256: str
    width: int
    height: int
    byte_size: int


def store_photo(upload: IO[bytes], *, name: str) -> StoredPhoto:
    """Re-encode a picture and put it into the store, safely on disk when this returns.

    Call it before the transaction of the row that will name it. Raises BadInput (field ``photo``) for
    anything but a JPEG, PNG or WebP picture within the limits of bytes and pixels. If the power fails after
    it and before the row is there, the file is a leftover that ``sweep_photos`` removes.
    """
    data = _read_within_limit(upload, name=name)
    _refuse_disguises(data, name=name)
    encoded, width, height = _re_encoded(data, name=name)
    sha256 = hashlib.sha256(encoded).hexdigest()
    _write(sha256, encoded)
    return StoredPhoto(sha256=sha256, width=width, height=height, byte_size=len(encoded))


def photo_path(sha256: str) -> Path:
    """Where a photo lies. Raises FileNotFoundError for what is not the name of a photo."""
    if not NAME.fullmatch(sha256):
        raise FileNotFoundError(f"{sha256[:80]!r} is not the name of a photo")
    return settings.PHOTO_DIR / f"{sha256}.webp"


def read_photo(sha256: str) -> bytes:
    """The WebP bytes of a photo; FileNotFoundError when it is not there."""
    return photo_path(sha256).read_bytes()


def missing_photos() -> int:
    """How many photos that rows name have no file."""
    named = Photo.objects.values_list("sha256", flat=True).distinct().iterator(chunk_size=2000)
    return sum(not photo_path(sha256).exists() for sha256 in named)


def sweep_photos(older_than: datetime) -> int:
    """Remove files that no row names and that were last written before the moment; returns how many.

    Give a moment a day ago: a file is written some time before its row. The age is looked at while the
    store is locked, so a photo that is stored again in that very moment stays. It waits for a backup that
    is being made: a photo that the copied database names must not go before it is copied too.
    """
    removed = 0
    with one_at_a_time(settings.BACKUP_DIR):
        for paths in batched(sorted(settings.PHOTO_DIR.glob("*.*")), SWEPT_AT_ONCE):
            stems = [path.stem for path in paths]
            named = set(Photo.objects.filter(sha256__in=stems).values_list("sha256", flat=True))
            removed += sum(_removed_if_old(path, older_than) for path in paths if path.stem not in named)
    return removed


def _removed_if_old(path: Path, older_than: datetime) -> bool:
    with one_at_a_time(settings.PHOTO_DIR):
        is_old = path.exists() and path.stat().st_mtime < older_than.timestamp()
        if is_old:
            path.unlink()
    return is_old


def _read_within_limit(upload: IO[bytes], *, name: str) -> bytes:
    most = settings.PHOTO_MAX_BYTES
    data = upload.read(most + 1)
    if len(data) > most:
        raise BadInput("photo", name, _("a picture of at most %(mb)s MB") % {"mb": most // 1_000_000})
    return data


def _refuse_disguises(data: bytes, *, name: str) -> None:
    """A file that another program would read as a page, a document or an archive is not a photo."""
    if FOREIGN.search(data[:HEAD]) or _ends_as_zip(data) or _scans_of(data) > MOST_SCANS:
        raise _no_picture(name)


def _scans_of(data: bytes) -> int:
    """The scans of a JPEG up to its end (phones put films behind it); none in other pictures.

    Markers are walked as ITU-T T.81 annex B has them: each segment says how long it is.
    """
    place, scans = len(JPEG_START) - 1, 0
    if not data.startswith(JPEG_START):
        return scans
    while (marker := JPEG_MARKER.search(data, place)) is not None and marker[0] != JPEG_END:
        scans += marker[0] == JPEG_SCAN
        place = marker.end() + int.from_bytes(data[marker.end() : marker.end() + 2])
    return scans


def _ends_as_zip(data: bytes) -> bool:
    """An end record of a zip archive whose comment reaches exactly to the end of the file."""
    tail = data[-TAIL:]
    for hit in re.finditer(re.escape(ZIP_END), tail):
        comment = tail[hit.start() + 20 : hit.start() + 22]
        if len(comment) == 2 and hit.start() + 22 + int.from_bytes(comment, "little") == len(tail):
            return True
    return False


def _no_picture(name: str) -> BadInput:
    return BadInput("photo", name, _("a photo as JPEG, PNG or WebP"))


def _re_encoded(data: bytes, *, name: str) -> tuple[bytes, int, int]:
    try:
        with DECODING, Image.open(io.BytesIO(data), formats=FORMATS) as image:
            _refuse_too_many_pixels(image, name=name)
            return _as_webp(image)
    except BadInput:
        raise
    except BROKEN as error:
        raise _no_picture(name) from error


def _refuse_too_many_pixels(image: Image.Image, *, name: str) -> None:
    is_jpeg = image.format in ("JPEG", "MPO")
    most = settings.PHOTO_MAX_PIXELS if is_jpeg else settings.PHOTO_MAX_PIXELS_WHOLE
    if image.width * image.height > most:
        accepted = _("a picture of at most %(millions)s million pixels") % {"millions": most // 1_000_000}
        raise BadInput("photo", name, accepted)


def _as_webp(image: Image.Image) -> tuple[bytes, int, int]:
    # JPEG can be decoded at a fraction of its size, which saves most of the time and memory
    image.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))
    # smaller first, then turned where it is: a whole picture lies in memory once, never turned as well
    image.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
    ImageOps.exif_transpose(image, in_place=True)
    flat = _on_white(image)
    out = io.BytesIO()
    flat.save(out, "WEBP", quality=QUALITY, method=4, exif=b"", xmp=b"", icc_profile=None)
    return out.getvalue(), flat.width, flat.height


def _on_white(image: Image.Image) -> Image.Image:
    if not image.has_transparency_data:
        return image.convert("RGB")
    layer = image.convert("RGBA")
    ground = Image.new("RGB", layer.size, "white")
    ground.paste(layer, mask=layer.getchannel("A"))
    return ground


def _write(sha256: str, data: bytes) -> None:
    """Whole or not at all: a synced temporary file takes the name, then the folder is synced."""
    folder = settings.PHOTO_DIR
    folder.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=folder, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        with one_at_a_time(settings.PHOTO_DIR):
            os.replace(temporary, photo_path(sha256))
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    sync(folder)

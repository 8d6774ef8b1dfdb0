"""The photo store: what is refused before it is decoded, what is left of what was sent, what is swept away.

What a hostile file looks like comes from the formats' own specifications: PNG (ISO/IEC 15948), JPEG (ITU-T
T.81), WebP (RFC 9649), zip (APPNOTE 4.3.16), Exif 2.3; each is built here byte by byte.
"""

import hashlib
import io
import os
import random
import struct
import subprocess
import sys
import zlib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.conf import settings
from PIL import Image

from shopapp.calc.errors import BadInput
from shopapp.files.photos import LONGEST_EDGE, photo_path, read_photo, store_photo, sweep_photos
from shopapp.models import Person, Photo, Stage
from tests.factories.jobs import job_at, picture, stored

NO_PICTURE = "a photo as JPEG, PNG or WebP"
TOO_MANY = "a picture of at most 40 million pixels"
TOO_MANY_WHOLE = "a picture of at most 20 million pixels"


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def grey_png(*, width: int, height: int, whole: bool = True) -> bytes:
    """A black PNG of that size; not whole: with a promise of pixels only."""
    packer = zlib.compressobj(9)
    rows = b"".join(packer.compress(bytes(width + 1)) for _ in range(height)) if whole else b""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    data = chunk(b"IDAT", rows + packer.flush())
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + data + chunk(b"IEND", b"")


def vast_webp() -> bytes:
    """An animated WebP whose canvas is 16,383 by 16,383, with one frame of one pixel."""
    body = picture(size=(1, 1), form="WEBP")[12:]
    size = (16_382).to_bytes(3, "little")
    extended = b"VP8X" + struct.pack("<I", 10) + bytes([2, 0, 0, 0]) + size + size
    frame = bytes(16) + body
    animation = b"ANIM" + struct.pack("<I", 6) + bytes(6) + b"ANMF" + struct.pack("<I", len(frame)) + frame
    return b"RIFF" + struct.pack("<I", 4 + len(extended + animation)) + b"WEBP" + extended + animation


def with_comment(text: bytes) -> bytes:
    """A JPEG with a comment right after its first two bytes."""
    return b"\xff\xd8\xff\xfe" + struct.pack(">H", len(text) + 2) + text + picture()[2:]


def jpeg_of_scans(count: int) -> bytes:
    """A progressive JPEG whose last scan comes again and again before its end (ITU-T T.81 annex B)."""
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "teal").save(out, "JPEG", progressive=True)
    whole = out.getvalue()
    start = whole.rindex(b"\xff\xda")
    return whole[:-2] + whole[start:-2] * (count - whole.count(b"\xff\xda")) + whole[-2:]


def jpeg_of_size(*, width: int, height: int) -> bytes:
    """A small JPEG whose frame header claims another size (ITU-T T.81 B.2.2)."""
    whole = bytearray(picture())
    frame = whole.index(b"\xff\xc0")
    whole[frame + 5 : frame + 9] = struct.pack(">HH", height, width)
    return bytes(whole)


def noise(form: str, **options: object) -> bytes:
    """A picture of nothing but noise, as fine grain of a real photo is kept without loss."""
    out = io.BytesIO()
    pixels = random.Random(4).randbytes(1_600 * 1_200 * 3)
    Image.frombytes("RGB", (1_600, 1_200), pixels).save(out, form, **options)
    return out.getvalue()


def zip_end(comment: bytes = b"") -> bytes:
    return b"PK\x05\x06" + bytes(16) + struct.pack("<H", len(comment)) + comment


def made(form: str, **options: object) -> bytes:
    out = io.BytesIO()
    Image.new("P", (8, 8)).save(out, form, **options)
    return out.getvalue()


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "svg_t11": (lambda: b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', NO_PICTURE),
    "svg_declared_t11": (lambda: b'<?xml version="1.0"?>\n<!DOCTYPE svg><svg/>', NO_PICTURE),
    "html": (lambda: b"<!doctype html><script>alert(1)</script>", NO_PICTURE),
    "pdf": (lambda: b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n", NO_PICTURE),
    "gif": (lambda: made("GIF"), NO_PICTURE),
    "bmp": (lambda: made("BMP"), NO_PICTURE),
    "tiff": (lambda: made("TIFF"), NO_PICTURE),
    "ico": (lambda: made("ICO"), NO_PICTURE),
    "heic": (lambda: b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(400), NO_PICTURE),
    "avif": (lambda: b"\x00\x00\x00\x18ftypavif\x00\x00\x00\x00mif1avif" + bytes(400), NO_PICTURE),
    "postscript": (lambda: b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 1 1\n", NO_PICTURE),
    "zip": (zip_end, NO_PICTURE),
    "nothing": (lambda: b"", NO_PICTURE),
    "text": (lambda: b"a photo, honestly", NO_PICTURE),
    "noughts": (lambda: bytes(5_000), NO_PICTURE),
    "jpeg_that_is_pdf": (lambda: with_comment(b"%PDF-1.7 1 0 obj"), NO_PICTURE),
    "jpeg_that_is_page": (lambda: with_comment(b"<SCRIPT>alert(1)</SCRIPT>"), NO_PICTURE),
    "jpeg_that_is_php": (lambda: with_comment(b"<?php system('id');"), NO_PICTURE),
    "jpeg_that_is_zip": (lambda: picture() + zip_end(), NO_PICTURE),
    "png_that_is_zip": (lambda: picture(form="PNG") + zip_end(b"with a comment"), NO_PICTURE),
    "jpeg_cut_short": (lambda: picture(size=(300, 300))[:600], NO_PICTURE),
    "jpeg_head_only": (lambda: picture()[:20], NO_PICTURE),
    "png_cut_short": (lambda: picture(size=(300, 300), form="PNG")[:60], NO_PICTURE),
    "png_without_pixels": (lambda: grey_png(width=100, height=100, whole=False), NO_PICTURE),
    "webp_cut_short": (lambda: picture(form="WEBP")[:40], NO_PICTURE),
    "jpeg_of_many_scans": (lambda: jpeg_of_scans(65), NO_PICTURE),
    "jpeg_vast": (lambda: jpeg_of_size(width=8_000, height=5_001), TOO_MANY),
    "png_vast": (lambda: grey_png(width=60_000, height=60_000, whole=False), TOO_MANY_WHOLE),
    "png_large": (lambda: grey_png(width=5_000, height=4_001, whole=False), TOO_MANY_WHOLE),
    "png_thin": (lambda: grey_png(width=2_000_000_000, height=1, whole=False), TOO_MANY_WHOLE),
    "webp_vast": (vast_webp, TOO_MANY_WHOLE),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_file_is_refused_in_a_sentence(name: str) -> None:
    make, accepted = HOSTILE[name]

    with pytest.raises(BadInput) as error:
        store_photo(io.BytesIO(make()), name="boat.jpg")

    assert str(error.value) == f'photo: "boat.jpg" is not accepted. Give {accepted}.'
    assert list(settings.PHOTO_DIR.glob("*")) == []


# the high-water mark of its own memory: getrusage would begin with that of the process that started it
MEASURED = """
import io, re, sys, time
from pathlib import Path
import django
django.setup()
from shopapp.calc.errors import BadInput
from shopapp.files.photos import store_photo
def highest():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])
data = open(sys.argv[1], "rb").read()
before, start = highest(), time.monotonic()
try:
    store_photo(io.BytesIO(data), name="vast.png")
except BadInput as error:
    print(error.accepted)
print(time.monotonic() - start)
print((highest() - before) / 1024)
"""


def clear_png(*, width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.new("RGBA", (width, height), (1, 2, 3, 128)).save(out, "PNG")
    return out.getvalue()


def measured(data: bytes, tmp_path: Path) -> list[str]:
    """What a process of its own says of a photo: why it is refused, its seconds and its MiB of memory."""
    vast = tmp_path / "vast.png"
    vast.write_bytes(data)
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "shopapp.settings",
        "SHOPAPP_DATA": str(tmp_path),
        "PYTHONPATH": str(settings.BASE_DIR),
    }

    return subprocess.run(
        [sys.executable, "-c", MEASURED, str(vast)],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()


@pytest.mark.parametrize(
    "make",
    [
        lambda: grey_png(width=10_000, height=10_000),
        # 39.7 million pixels in 170 kB
        lambda: clear_png(width=6_300, height=6_300),
    ],
)
def test_too_many_megapixels_cost_nothing_t10(make: Callable[[], bytes], tmp_path: Path) -> None:
    reason, seconds, memory = measured(make(), tmp_path)

    assert reason == TOO_MANY_WHOLE
    assert float(seconds) < 1
    assert float(memory) < 50


def test_largest_png_lies_in_memory_twice_t10(tmp_path: Path) -> None:
    """Twice, since Pillow makes clear pixels smaller in a form of their own: 2 x 80 MB and the small one."""
    _, memory = measured(clear_png(width=5_000, height=4_000), tmp_path)

    assert float(memory) < 220


@pytest.mark.parametrize(
    ("form", "options"), [("PNG", {}), ("WEBP", {"lossless": True, "quality": 0, "method": 0})]
)
def test_bytes_like_scans_are_no_scans(form: str, options: dict[str, object]) -> None:
    sent = noise(form, **options)
    assert sent.count(b"\xff\xda") > 64

    kept = store_photo(io.BytesIO(sent), name="boat")

    assert (kept.width, kept.height) == (1_600, 1_200)


def test_jpeg_with_a_film_behind_it_is_kept() -> None:
    film = b"ftypmp42" + b"\xff\xda" * 65

    kept = store_photo(io.BytesIO(picture() + film), name="boat.jpg")

    assert kept == stored()


def test_jpeg_of_as_many_scans_as_allowed_is_kept() -> None:
    kept = store_photo(io.BytesIO(jpeg_of_scans(64)), name="boat.jpg")

    assert (kept.width, kept.height) == (60, 40)


def test_too_many_bytes_are_refused_unread(settings: object) -> None:
    settings.PHOTO_MAX_BYTES = 1_000_000

    with pytest.raises(BadInput, match="a picture of at most 1 MB"):
        store_photo(io.BytesIO(picture() + bytes(1_000_000)), name="boat.jpg")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_photo_is_kept_under_its_own_hash(form: str) -> None:
    kept = store_photo(io.BytesIO(picture(form=form)), name="anything at all")

    content = read_photo(kept.sha256)

    assert hashlib.sha256(content).hexdigest() == kept.sha256
    assert (content[:4], content[8:12], len(content)) == (b"RIFF", b"WEBP", kept.byte_size)
    assert (kept.width, kept.height) == (60, 40)
    assert sorted(path.name for path in settings.PHOTO_DIR.iterdir()) == [f"{kept.sha256}.webp", "lock"]


def test_same_photo_gives_the_same_name() -> None:
    assert stored() == stored()


@pytest.mark.parametrize(
    ("size", "kept_size"),
    [
        ((4_000, 3_000), (1_600, 1_200)),
        ((3_000, 6_000), (800, 1_600)),
        ((9_000, 2), (1_600, 1)),
        ((1, 1), (1, 1)),
    ],
)
def test_large_photo_is_made_smaller(size: tuple[int, int], kept_size: tuple[int, int]) -> None:
    kept = store_photo(io.BytesIO(picture(size=size)), name="boat.jpg")

    with Image.open(photo_path(kept.sha256)) as image:
        assert (image.size, (kept.width, kept.height)) == (kept_size, kept_size)
    assert max(kept_size) <= LONGEST_EDGE


def with_exif(orientation: int) -> bytes:
    """A picture, red on the left, with a place, a maker's name and an orientation in its Exif block."""
    image = Image.new("RGB", (40, 20), "blue")
    image.paste("red", (0, 0, 20, 20))
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "Maker of cameras"
    exif.get_ifd(0x8825)[2] = (49.0, 17.0, 3.0)
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif, quality=95, comment=b"Heron Inlet", icc_profile=b"profile" * 20)
    return out.getvalue()


def test_nothing_of_the_metadata_is_left_t12() -> None:
    sent = with_exif(orientation=1)
    assert b"Maker of cameras" in sent

    kept = store_photo(io.BytesIO(sent), name="boat.jpg")

    content = read_photo(kept.sha256)
    assert riff_chunks(content) == [b"VP8 "]
    assert [mark for mark in (b"Exif", b"EXIF", b"Maker", b"Heron", b"profile") if mark in content] == []


def riff_chunks(content: bytes) -> list[bytes]:
    """The names of a WebP file's chunks, read by the rules of RFC 9649 and not by Pillow."""
    names, place = [], 12
    while place < len(content):
        names.append(content[place : place + 4])
        size = int.from_bytes(content[place + 4 : place + 8], "little")
        place += 8 + size + size % 2
    return names


def test_photo_taken_sideways_stands_upright() -> None:
    kept = store_photo(io.BytesIO(with_exif(orientation=6)), name="boat.jpg")

    with Image.open(photo_path(kept.sha256)) as image:
        top, bottom = image.convert("RGB").getpixel((10, 4)), image.convert("RGB").getpixel((10, 35))
    assert (kept.width, kept.height) == (20, 40)
    assert (top[0] > 200, bottom[2] > 200) == (True, True)


def test_transparent_picture_lies_on_white() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (10, 10), (0, 0, 0, 0)).save(out, "PNG")

    kept = store_photo(io.BytesIO(out.getvalue()), name="boat.png")

    with Image.open(photo_path(kept.sha256)) as image:
        assert image.convert("RGB").getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_damaged_picture_is_kept_or_refused(form: str) -> None:
    chance = random.Random(63)
    whole = picture(size=(40, 30), form=form)
    outcomes = set()

    for _ in range(300):
        damaged = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        try:
            store_photo(io.BytesIO(bytes(damaged)), name="boat.jpg")
            outcomes.add("kept")
        except BadInput as error:
            outcomes.add(error.field)

    assert outcomes <= {"kept", "photo"}


@pytest.mark.parametrize(
    "name", ["", "../../etc/passwd", "a" * 63, "A" * 64, "0" * 64 + ".webp", "0" * 65, "\x00" * 64]
)
def test_path_takes_nothing_but_names(name: str) -> None:
    with pytest.raises(FileNotFoundError):
        photo_path(name)


def test_photo_that_is_not_there_is_missing() -> None:
    with pytest.raises(FileNotFoundError):
        read_photo("0" * 64)


def age(path: Path, *, days: int) -> None:
    moment = datetime.now(UTC).timestamp() - days * 86_400
    os.utime(path, (moment, moment))


@pytest.mark.django_db
def test_sweep_removes_only_old_leftovers(ilse: Person) -> None:
    job = job_at(Stage.HERE)
    named, leftover, fresh = stored("red"), stored("green"), stored("blue")
    Photo.objects.create(
        work_order=job.work_order, job=job, taken_by=ilse, taken_at=datetime.now(UTC), **vars(named)
    )
    torn = settings.PHOTO_DIR / "tmp123.part"
    torn.write_bytes(b"half a photo")
    for path in (photo_path(named.sha256), photo_path(leftover.sha256), torn):
        age(path, days=2)

    removed = sweep_photos(datetime.now(UTC) - timedelta(days=1))

    assert removed == 2
    assert [photo_path(one.sha256).exists() for one in (named, leftover, fresh)] == [True, False, True]
    assert torn.exists() is False


@pytest.mark.django_db
def test_photo_stored_again_is_young_again() -> None:
    kept = stored()
    age(photo_path(kept.sha256), days=2)

    stored()

    assert sweep_photos(datetime.now(UTC) - timedelta(days=1)) == 0
    assert photo_path(kept.sha256).exists() is True


def test_write_that_fails_leaves_no_file(settings: object, tmp_path: Path) -> None:
    settings.PHOTO_DIR = tmp_path / "photos"
    settings.PHOTO_DIR.mkdir()
    (settings.PHOTO_DIR / "lock").mkdir()

    with pytest.raises(IsADirectoryError):
        stored()

    assert [path.name for path in settings.PHOTO_DIR.iterdir()] == ["lock"]

"""Over two hundred files that are no honest photo, each built here byte by byte.

From the formats' own specifications. PNG: ISO/IEC 15948. JPEG: ITU-T T.81. WebP: RFC 9649. GIF: GIF89a.
TIFF: revision 6.0. Exif: 2.3.
"""

import io
import random
import struct
import zlib
from collections.abc import Iterator
from itertools import product

from PIL import Image, ImageCms

from tests.factories.jobs import picture

# what other programs would take for a page, a document, an archive or a programme of their own
OTHERS = {
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"><image href="file:///etc/passwd"/></svg>',
    "xml": b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><svg>&b;</svg>',
    "html": b"<!doctype html><html><script>alert(1)</script></html>",
    "php": b"<?php system('id'); ?>",
    "pdf": b"%PDF-1.7\n1 0 obj<</OpenAction<</S/JavaScript/JS(app.alert(1))>>>>endobj\n%%EOF",
    "postscript": b"%!PS-Adobe-3.0 EPSF-3.0\n(/etc/passwd) (r) file\n",
    "heic": b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(400),
    "avif": b"\x00\x00\x00\x1cftypavif\x00\x00\x00\x00avifmif1miaf" + bytes(400),
    "gif": b"GIF89a\x01\x00\x01\x00\x80\x00\x00"
    + b"\x00" * 6
    + b"!\xfe\x1a/*<script>alert(1)</script>*/\x00;",
    "bmp": b"BM" + struct.pack("<IHHIIIIHH", 100, 0, 0, 54, 40, 1, 1, 1, 24) + bytes(60),
    "tiff": b"II*\x00\x08\x00\x00\x00\x00\x00\x00\x00\x00\x00",
    "psd": b"8BPS\x00\x01" + bytes(60),
    "jpeg2000": b"\x00\x00\x00\x0cjP  \r\n\x87\n" + bytes(60),
    "ico": b"\x00\x00\x01\x00\x01\x00\x01\x01" + bytes(60),
    "fli": b"\x00\x00\x00\x00\x12\xaf" + bytes(200),
    "zip": b"PK\x03\x04" + bytes(26) + b"PK\x05\x06" + bytes(18),
    "gzip": b"\x1f\x8b\x08" + bytes(40),
    "elf": b"\x7fELF\x02\x01\x01" + bytes(60),
    "script": b"#!/bin/sh\nid\n",
    "javascript": b"alert(document.cookie)//",
    "mvg": b"push graphic-context\nimage over 0,0 0,0 'https://evil.example/x'\npop graphic-context",
    "json": b'{"__proto__": {"a": 1}}',
    "noughts": bytes(4_000),
    "ones": b"\xff" * 4_000,
    "nothing": b"",
}
WEBP, PNG = b"RIFF\x20\x00\x00\x00WEBPVP8 ", b"\x89PNG\r\n\x1a\n"


def chunk(kind: bytes, data: bytes, *, length: int | None = None, crc: int | None = None) -> bytes:
    """A chunk of a PNG, with a length and a checksum of its own or wrong ones."""
    claimed = len(data) if length is None else length
    return (
        struct.pack(">I", claimed)
        + kind
        + data
        + struct.pack(">I", zlib.crc32(kind + data) if crc is None else crc)
    )


def png(
    *, width: int = 20, height: int = 20, depth: int = 8, colour: int = 2, more: bytes = b"", rows: int = -1
) -> bytes:
    """A PNG that says what it likes of itself; ``rows`` bytes of pixels, packed."""
    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0))
    size = rows if rows >= 0 else min(10_000, max(0, height)) * (min(width, 10_000) * 8 + 1)
    return PNG + header + more + chunk(b"IDAT", zlib.compress(bytes(size), 9)) + chunk(b"IEND", b"")


def saved(image: Image.Image, form: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()


def pretended() -> Iterator[tuple[str, bytes]]:
    """Other kinds of file under a photo's name: alone, behind a photo's first bytes, and behind a photo."""
    for name, data in OTHERS.items():
        yield f"{name} as it is", data
        yield f"{name} behind a JPEG's beginning", b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + data
        yield f"{name} behind a PNG's beginning", PNG + data
        yield f"{name} behind a WebP's beginning", WEBP + data
    for name, form in product(("html", "php", "pdf", "zip", "svg"), ("JPEG", "PNG", "WEBP")):
        yield f"{name} behind a whole {form}", picture(form=form) + OTHERS[name]
        yield f"{name} in a comment of {form}", commented(OTHERS[name], form)


def commented(text: bytes, form: str) -> bytes:
    whole = picture(form=form)
    if form == "JPEG":
        return whole[:2] + b"\xff\xfe" + struct.pack(">H", len(text) + 2) + text + whole[2:]
    if form == "PNG":
        return whole[:33] + chunk(b"tEXt", b"Comment\x00" + text) + whole[33:]
    body = whole[12:] + b"XMP " + struct.pack("<I", len(text)) + text + b"\x00" * (len(text) % 2)
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


def wrong_pngs() -> Iterator[tuple[str, bytes]]:
    """Sizes that cannot be, chunks that lie about themselves, and little that unpacks to much."""
    for width, height in product((0, 1, 65_535, 2**31 - 1, 2**32 - 1), repeat=2):
        yield f"PNG of {width} by {height}", png(width=width, height=height, rows=50)
    for depth, colour in ((0, 2), (3, 2), (255, 2), (8, 1), (8, 7), (16, 3), (1, 6), (32, 0)):
        yield f"PNG of depth {depth} and colour {colour}", png(depth=depth, colour=colour)
    for length in (0, 1, 2**16, 2**31 - 1, 2**32 - 1):
        yield f"PNG with text of {length}", png(more=chunk(b"tEXt", b"a\x00b", length=length))
    yield "PNG with a wrong checksum", png(more=chunk(b"gAMA", bytes(4), crc=0))
    yield "PNG without a header", PNG + chunk(b"IDAT", zlib.compress(bytes(100))) + chunk(b"IEND", b"")
    yield "PNG with two headers", png(more=chunk(b"IHDR", struct.pack(">IIBBBBB", 9, 9, 8, 2, 0, 0, 0)))
    yield "PNG with 3 MB of pixels too many", png(rows=3_000_000)
    yield "PNG with too few pixels", png(width=3_000, height=3_000, rows=100)
    bomb = zlib.compress(bytes(60_000_000), 9)
    for kind, head in ((b"zTXt", b"a\x00\x00"), (b"iTXt", b"a\x00\x01\x00\x00\x00"), (b"iCCP", b"a\x00\x00")):
        yield f"PNG with a {kind.decode()} of 60 MB", png(more=chunk(kind, head + bomb))
        yield f"PNG with 50 of {kind.decode()}", png(more=chunk(kind, head + bomb[:200]) * 50)
    yield "PNG with 5,000 small chunks", png(more=chunk(b"tEXt", b"k\x00v") * 5_000)
    frames = chunk(b"acTL", struct.pack(">II", 2**31 - 1, 0))
    yield "PNG that says it moves", png(more=frames)


def wrong_jpegs() -> Iterator[tuple[str, bytes]]:
    """Sizes, segments and Exif blocks that lie."""
    whole = picture(size=(80, 60))
    frame = whole.index(b"\xff\xc0")
    for width, height in product((0, 1, 30_000, 65_535), repeat=2):
        changed = bytearray(whole)
        changed[frame + 5 : frame + 9] = struct.pack(">HH", height, width)
        yield f"JPEG of {width} by {height}", bytes(changed)
    for length in (0, 1, 2, 3, 65_535):
        yield (
            f"JPEG with a segment of {length}",
            whole[:2] + b"\xff\xe2" + struct.pack(">H", length) + whole[2:],
        )
    for parts in (0, 2, 4, 255):
        changed = bytearray(whole)
        changed[frame + 9] = parts
        yield f"JPEG of {parts} parts", bytes(changed)
    for place in range(2, len(whole), len(whole) // 24):
        yield f"JPEG cut at {place}", whole[:place]
    yield "JPEG with 2,000 restarts", whole[:-2] + b"\xff\xd0" * 2_000 + whole[-2:]
    yield "JPEG with 3,000 comments", whole[:2] + b"\xff\xfe\x00\x04ab" * 3_000 + whole[2:]
    yield "JPEG begun a hundred times", whole[:2] * 100 + whole[2:]
    yield "JPEG in a JPEG", whole[:-2] + whole + whole[-2:]
    for name, block in exif_blocks():
        segment = b"Exif\x00\x00" + block
        yield (
            f"JPEG with {name}",
            whole[:2] + b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment + whole[2:],
        )


def exif_blocks() -> Iterator[tuple[str, bytes]]:
    """Directories that point at themselves, far outside, or say that they hold the whole world."""
    head = b"II*\x00\x08\x00\x00\x00"

    def entry(tag: int, kind: int, count: int, value: int) -> bytes:
        return struct.pack("<HHII", tag, kind, count, value)

    def directory(*entries: bytes, following: int = 0) -> bytes:
        return head + struct.pack("<H", len(entries)) + b"".join(entries) + struct.pack("<I", following)

    yield "an Exif ring", directory(entry(0x8769, 4, 1, 8), entry(0x8825, 4, 1, 8), following=8)
    yield "Exif far outside", directory(entry(0x8769, 4, 1, 2**31), following=2**32 - 1)
    yield "Exif of four thousand million values", directory(entry(0x0112, 3, 2**32 - 1, 26))
    yield "Exif of a kind there is not", directory(entry(0x0112, 255, 1, 6))
    for turn in (0, 9, 255, 65_535):
        yield f"Exif turned by {turn}", directory(entry(0x0112, 3, 1, turn))
    yield "Exif turned by words", directory(entry(0x0112, 2, 4, 0x61616161))
    yield "Exif of 4,000 entries", directory(*[entry(0x010F, 2, 1, 0)] * 4_000)
    yield "an Exif block of noise", head + random.Random(9).randbytes(4_000)
    yield "no more Exif than its name", b""


def wrong_webps() -> Iterator[tuple[str, bytes]]:
    whole = picture(size=(80, 60), form="WEBP")
    for length in (0, 4, 2**31 - 1, 2**32 - 1):
        yield f"WebP that says it has {length}", b"RIFF" + struct.pack("<I", length) + whole[8:]
        yield f"WebP whose picture has {length}", whole[:16] + struct.pack("<I", length) + whole[20:]
    for width in (0, 16_383):
        changed = bytearray(whole)
        changed[26:30] = struct.pack("<HH", width, width)
        yield f"WebP {width} wide", bytes(changed)
    for place in range(8, len(whole), len(whole) // 8):
        yield f"WebP cut at {place}", whole[:place]


def unusual() -> Iterator[tuple[str, bytes]]:
    """Honest pictures of unusual kinds: kept or refused, but never as they were sent."""
    plain = Image.new("RGB", (30, 20), "teal")
    palette = plain.convert("P")
    palette.info["transparency"] = 0
    clear = Image.new("RGBA", (30, 20), (9, 9, 9, 0))
    colours = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    others = [Image.new("RGB", (30, 20), colour) for colour in ("red", "blue")]
    yield "CMYK", saved(plain.convert("CMYK"), "JPEG")
    yield "CMYK turned round", saved(plain.convert("CMYK"), "JPEG", adobe_transform=2)
    yield "progressive", saved(plain, "JPEG", progressive=True)
    yield "grey JPEG", saved(plain.convert("L"), "JPEG")
    yield "grey with 16 bits", saved(Image.new("I;16", (30, 20), 40_000), "PNG")
    yield "palette with a hole", saved(palette, "PNG", transparency=0)
    yield "palette with many holes", saved(palette, "PNG", transparency=bytes(range(256)))
    yield "black and white", saved(plain.convert("1"), "PNG")
    yield "grey with clear", saved(clear.convert("LA"), "PNG")
    yield "interlaced", png()[:28] + b"\x01" + png()[29:]
    yield "clear WebP", saved(clear, "WEBP", lossless=True)
    for form in ("PNG", "WEBP"):
        yield f"moving {form}", saved(plain, form, save_all=True, append_images=others, duration=1)
    yield "several in one JPEG", saved(plain, "MPO", save_all=True, append_images=others)
    for form in ("JPEG", "PNG", "WEBP"):
        yield f"{form} with its colours", saved(plain, form, icc_profile=colours)
        yield (
            f"{form} with colours of noise",
            saved(plain, form, icc_profile=random.Random(3).randbytes(60_000)),
        )
    yield "thin", saved(Image.new("L", (60_000, 1)), "PNG")
    yield "high", saved(Image.new("L", (1, 60_000)), "PNG")


def hostile_pictures() -> dict[str, bytes]:
    """Name → file."""
    kinds = (pretended, wrong_pngs, wrong_jpegs, wrong_webps, unusual)
    return {name: data for kind in kinds for name, data in kind()}


def fuzzed(count: int, *, chance: random.Random) -> Iterator[bytes]:
    """So many files that were once pictures: bytes changed, cut out, doubled, and mixed with another's."""
    wholes = [data for name, data in unusual()] + [picture(form=form) for form in ("JPEG", "PNG", "WEBP")]
    for _ in range(count):
        data = bytearray(chance.choice(wholes))
        for _ in range(chance.randint(1, 8)):
            place, length = chance.randrange(len(data) + 1), chance.randint(1, 40)
            data[place : place + length] = _instead(data, place=place, chance=chance, wholes=wholes)
        yield bytes(data)


def _instead(data: bytearray, *, place: int, chance: random.Random, wholes: list[bytes]) -> bytes:
    other = chance.choice(wholes)
    begin = chance.randrange(len(other))
    return chance.choice(
        [
            chance.randbytes(chance.randint(1, 40)),
            b"",
            bytes(data[place : place + 40]) * 2,
            other[begin : begin + 200],
            struct.pack(">I", chance.choice([0, 1, 2**16, 2**31 - 1, 2**32 - 1])),
        ]
    )

"""Files that are no honest photo: refused in a sentence or drawn anew, never kept as sent.

All of them with SHOPAPP_ALL_VALUES=1 or ``-m soak``; a share in the everyday run.
"""

import hashlib
import io
import os
import random
import re
import time
from collections.abc import Iterable
from pathlib import Path

import pytest
from django.conf import settings
from PIL import Image

from shopapp.calc.errors import BadInput
from shopapp.files.photos import LONGEST_EDGE, photo_path, read_photo, store_photo
from tests.files.hostile_pictures import fuzzed, hostile_pictures
from tests.files.test_photos import riff_chunks
from tests.programmes import short_and_long
from tests.web.shared.bad_values import share_of_today

# Pillow warns of what it steps over
pytestmark = pytest.mark.filterwarnings("ignore::UserWarning")

MOST_SECONDS = 3
MOST_MIB = 400


def trouble(name: str, data: bytes) -> str:
    """What is wrong with how a file was taken; nothing, as a rule."""
    before = time.process_time()
    try:
        kept = store_photo(io.BytesIO(data), name="boat.jpg")
    except BadInput as error:
        said = f"{name}: refused at {error.field}"
        return "" if error.field == "photo" and error.accepted else said
    seconds = time.process_time() - before
    served = read_photo(kept.sha256)
    with Image.open(photo_path(kept.sha256)) as image:
        size, frames = image.size, getattr(image, "n_frames", 1)
    is_drawn_anew = (
        riff_chunks(served) == [b"VP8 "]
        and served not in data
        and hashlib.sha256(served).hexdigest() == kept.sha256
        and max(size) <= LONGEST_EDGE
        and frames == 1
    )
    return (
        ""
        if is_drawn_anew and seconds < MOST_SECONDS
        else f"{name}: kept, {seconds:.1f} s, {riff_chunks(served)}"
    )


def highest() -> float:
    """The most memory this process ever had, in MiB."""
    found = re.search(r"VmHWM:\s+(\d+)", Path("/proc/self/status").read_text(encoding="ascii"))
    return int(found[1]) / 1024 if found else 0


def troubles(pictures: Iterable[tuple[str, bytes]]) -> list[str]:
    before = highest()
    found = [trouble(name, data) for name, data in pictures]
    grown = highest() - before
    return [one for one in found if one] + ([f"{grown:.0f} MiB more"] if grown > MOST_MIB else [])


@pytest.mark.parametrize("is_whole", [False, pytest.param(True, marks=pytest.mark.soak)])
def test_hostile_pictures_are_refused_or_drawn_anew_t10_t11_t12(is_whole: bool) -> None:
    pictures = list(hostile_pictures().items())

    tried = pictures if is_whole else share_of_today(pictures)

    assert len(pictures) >= 200
    assert troubles(tried) == []
    left = [
        path.name for path in settings.PHOTO_DIR.glob("*") if path.suffix != ".webp" and path.name != "lock"
    ]
    assert left == []


@pytest.mark.parametrize("count", short_and_long(40, 1_000))
def test_fuzzed_pictures_are_refused_or_drawn_anew(count: int) -> None:
    chance = random.Random(os.environ.get("SHOPAPP_SEED", "1"))

    found = troubles((f"number {number}", data) for number, data in enumerate(fuzzed(count, chance=chance)))

    assert found == []

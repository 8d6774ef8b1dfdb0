"""The photos of the demo shop are drawn alike each time and are real pictures."""

import io

import pytest
from PIL import Image

from shopapp.files.drawn import PICTURES, SIZE


@pytest.mark.parametrize("name", ["milky_oil", "vacuum_lost"])
def test_same_drawing_comes_each_time(name: str) -> None:
    first = PICTURES[name]()

    assert PICTURES[name]() == first
    assert Image.open(io.BytesIO(first)).size == SIZE

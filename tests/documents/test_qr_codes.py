"""The path of a QR code draws exactly the dark modules, with the quiet zone that the standard asks for."""

import re

import pytest
import segno

from shopapp.documents.qr_codes import QUIET_ZONE, qr_code


def drawn(path: str, size: int) -> list[list[int]]:
    """The modules that the path fills."""
    rows = [[0] * size for _ in range(size)]
    for x, y, length in re.findall(r"M(\d+),(\d+)h(\d+)v1h-\d+z", path):
        for offset in range(int(length)):
            rows[int(y)][int(x) + offset] = 1
    return rows


@pytest.mark.parametrize("text", ["http://shop.example/work-orders/12/", "a", "x" * 300])
def test_path_draws_every_dark_module(text: str) -> None:
    code = qr_code(text)

    wanted = [list(row) for row in segno.make(text, error="m", micro=False).matrix_iter(border=QUIET_ZONE)]
    assert drawn(code.path, code.size) == wanted


def test_quiet_zone_is_four_modules_wide() -> None:
    code = qr_code("http://shop.example/")
    rows = drawn(code.path, code.size)

    assert [sum(rows[y]) for y in range(QUIET_ZONE)] == [0] * QUIET_ZONE
    assert rows[QUIET_ZONE][QUIET_ZONE] == 1

"""QR codes (ISO/IEC 18004, error level M): as a path for a template, as a picture, and as an SVG of its own.

The middle level: a thumb or a scratch does no harm.
"""

import io
from dataclasses import dataclass

import segno
from django.utils.safestring import mark_safe

QUIET_ZONE = 4


@dataclass(frozen=True, kw_only=True)
class QrCode:
    """``path`` draws the dark squares in a space of ``size`` × ``size``, with the quiet zone around them."""

    size: int
    path: str


def qr_code(text: str) -> QrCode:
    """The code of a text such as an address, with the quiet zone of four modules."""
    rows = [bytes(row) for row in _made(text).matrix]
    runs = [
        f"M{start + QUIET_ZONE},{y + QUIET_ZONE}h{length}v1h-{length}z"
        for y, row in enumerate(rows)
        for start, length in _dark_runs(row)
    ]
    return QrCode(size=len(rows) + 2 * QUIET_ZONE, path="".join(runs))


def qr_address(text: str) -> str:
    """The code as an address of its own (a ``data:`` picture), ready for an image."""
    return _made(text).svg_data_uri(scale=4, border=QUIET_ZONE)


def qr_svg(text: str) -> str:
    """The code as an SVG in the page, black on white, with the narrow border of a small label."""
    out = io.BytesIO()
    _made(text).save(
        out, kind="svg", xmldecl=False, svgns=True, nl=False, scale=4, border=2, svgclass="qr", lineclass=None
    )
    # made of squares alone; no word of a person is in it
    return mark_safe(out.getvalue().decode())  # noqa: S308 (drawn from the text alone)


def _made(text: str) -> segno.QRCode:
    return segno.make(text, error="m", micro=False)


def _dark_runs(row: bytes) -> list[tuple[int, int]]:
    """(start, length) of each run of dark modules."""
    runs: list[tuple[int, int]] = []
    for x, is_dark in enumerate(row):
        if not is_dark:
            continue
        if runs and sum(runs[-1]) == x:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        else:
            runs.append((x, 1))
    return runs

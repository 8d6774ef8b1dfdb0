"""QR codes as one path of squares, to be drawn by a template as SVG: on paper, and on a screen."""

from dataclasses import dataclass

import segno

QUIET_ZONE = 4


@dataclass(frozen=True, kw_only=True)
class QrCode:
    """``path`` draws the dark squares in a space of ``size`` × ``size``, with the quiet zone around them."""

    size: int
    path: str


def qr_code(text: str) -> QrCode:
    """The code of a text such as an address (ISO/IEC 18004, error level M, quiet zone of four modules)."""
    rows = [bytes(row) for row in segno.make(text, error="m", micro=False).matrix]
    runs = [
        f"M{start + QUIET_ZONE},{y + QUIET_ZONE}h{length}v1h-{length}z"
        for y, row in enumerate(rows)
        for start, length in _dark_runs(row)
    ]
    return QrCode(size=len(rows) + 2 * QUIET_ZONE, path="".join(runs))


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

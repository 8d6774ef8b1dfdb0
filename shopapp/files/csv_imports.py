"""A table that somebody brings as a CSV file: its size is looked at first, then it is read as plain text.

UTF-8, cells parted by commas or semicolons, the heads in the first line. Nothing is reckoned: a cell that
begins with = + - or @ is text, and the apostrophe that our own files put before it is taken off again.
"""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import IO

from django.utils.translation import gettext as _

from shopapp.calc.errors import BadInput

MOST_BYTES = 200_000
MOST_ROWS = 500
MOST_COLUMNS = 60
_SIGNS = "=+-@\uff1d\uff0b\uff0d\uff20"


@dataclass(frozen=True, kw_only=True)
class BroughtRow:
    """A row by the names of its heads, and the line of the file where it ends."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, kw_only=True)
class Brought:
    """The rows of a file, and its text as it was read."""

    rows: tuple[BroughtRow, ...]
    text: str


def read_upload(file: IO[bytes], *, size: int, heads: Sequence[str]) -> Brought:
    """The rows of an uploaded file. Raises BadInput at ``table`` for one too large, or for no such table."""
    if size > MOST_BYTES:
        raise _refused(_("a file of at most %(most)s kB") % {"most": MOST_BYTES // 1000})
    # one byte more than is allowed tells a size that was not true
    content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise _refused(_("a file of at most %(most)s kB") % {"most": MOST_BYTES // 1000})
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refused(_("a CSV file in UTF-8; save it so in your spreadsheet")) from None
    return read_text(text, heads=heads)


def read_text(text: str, *, heads: Sequence[str]) -> Brought:
    """The rows of a table that was read before. Raises BadInput at ``table``."""
    if len(text.encode()) > MOST_BYTES:
        raise _refused(_("a file of at most %(most)s kB") % {"most": MOST_BYTES // 1000})
    if "\x00" in text:
        raise _refused(_("a CSV file; this is something else"))
    try:
        return Brought(rows=tuple(_rows(text, heads=heads)), text=text)
    except csv.Error:
        raise _refused(_("a CSV file whose quotation marks are whole")) from None


def _rows(text: str, *, heads: Sequence[str]) -> list[BroughtRow]:
    first = text.partition("\n")[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    named = _heads(next(reader, []), heads=heads)
    found: list[BroughtRow] = []
    for cells in reader:
        if not any(cell.strip() for cell in cells):
            continue
        if len(found) == MOST_ROWS:
            raise _refused(_("at most %(most)s rows at a time") % {"most": MOST_ROWS})
        # cells beyond the heads are named by nothing, so the row is not what it says
        if any(cell.strip() for cell in cells[len(named) :]):
            raise _refused(
                _("rows as long as the heads; line %(line)s is longer") % {"line": reader.line_num}
            )
        padded = [*cells, *[""] * len(named)]
        found.append(
            BroughtRow(
                line=reader.line_num,
                cells={name: as_typed(cell) for name, cell in zip(named, padded, strict=False)},
            )
        )
    if not found:
        raise _refused(_("a table with at least one row under its heads"))
    return found


def _heads(cells: Sequence[str], *, heads: Sequence[str]) -> list[str]:
    named = [cell.strip().casefold() for cell in cells]
    unknown = [name for name in named if name not in heads]
    if len(named) > MOST_COLUMNS or len(set(named)) != len(named) or unknown or not named:
        raise _refused(_("a first line with these heads, each once: %(heads)s") % {"heads": ", ".join(heads)})
    return named


def as_typed(cell: str) -> str:
    """The cell as somebody typed it, without the apostrophe that keeps a spreadsheet from reckoning it.

    >>> as_typed("'=1+1"), as_typed("=1+1"), as_typed("'tis")
    ('=1+1', '=1+1', "'tis")
    """
    return cell[1:] if cell[:1] == "'" and cell[1:2] and cell[1] in _SIGNS else cell


def _refused(accepted: str) -> BadInput:
    return BadInput("table", "", accepted)

"""Tables for a spreadsheet: CSV in which no text is a formula and numbers stay numbers, written row by row.

RFC 4180 with every cell in quotation marks, UTF-8 with the mark by which spreadsheets know it. Where the
shop's numbers have a decimal comma, cells are parted by semicolons, as spreadsheets there expect it.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from itertools import batched
from zoneinfo import ZoneInfo

from babel.numbers import get_decimal_symbol
from django.utils.translation import gettext as _

from shopapp.queries.tables import Cell, Table

ROWS_AT_ONCE = 500
MARK = "\ufeff"
# the half-wide signs, and the full-wide ones that some programs fold into them
_SIGNS = "=+\\-@\uff1d\uff0b\uff0d\uff20"
# what begins a cell, also where a program parts cells by something else than we do
_BEGINS = re.compile(rf"(^|[,;|\t\r\n])([\s\"'\u200b\u2060\ufeff]*)(?=[{_SIGNS}])")
_HIDDEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def csv_bytes(table: Table, *, locale: str, time_zone: str) -> Iterator[bytes]:
    """The table as pieces of a file, ``ROWS_AT_ONCE`` rows each; rows are asked for as they are sent."""
    write = _Writer(locale=locale, time_zone=time_zone)
    yield (MARK + write.rows([table.columns])).encode()
    for rows in batched(table.rows, ROWS_AT_ONCE):
        yield write.rows(rows).encode()


def as_text(text: str) -> str:
    """Text that a spreadsheet shows as it is: an apostrophe stands before what it would reckon.

    Tabs and line breaks at the start count as well, and so does a sign behind a mark that parts cells.

    >>> as_text("=HYPERLINK(1)")
    "'=HYPERLINK(1)"
    """
    plain = _HIDDEN.sub("", text)
    safe = _BEGINS.sub(r"\1\2'", plain)
    return f"'{safe}" if safe[:1] in ("\t", "\r", "\n") else safe


class _Writer:
    """Writes cells the way the shop's spreadsheets read them."""

    def __init__(self, *, locale: str, time_zone: str) -> None:
        self._point = get_decimal_symbol(locale)
        self._zone = ZoneInfo(time_zone)
        self._delimiter = ";" if self._point == "," else ","

    def rows(self, rows: Iterable[Sequence[Cell]]) -> str:
        """These rows as lines."""
        out = io.StringIO()
        writer = csv.writer(out, delimiter=self._delimiter, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
        writer.writerows([self._cell(cell) for cell in row] for row in rows)
        return out.getvalue()

    def _cell(self, cell: Cell) -> str:
        match cell:
            case None:
                return ""
            case bool():
                return _("yes") if cell else _("no")
            case int() | Decimal():
                return f"{cell:f}".replace(".", self._point) if isinstance(cell, Decimal) else str(cell)
            case datetime():
                return cell.astimezone(self._zone).strftime("%Y-%m-%d %H:%M")
            case date():
                return cell.isoformat()
        return as_text(str(cell))

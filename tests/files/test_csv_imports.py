"""A table is read as plain text, and only once its size was looked at."""

import io

import pytest

from shopapp.calc.errors import BadInput
from shopapp.files.csv_imports import MOST_BYTES, MOST_ROWS, as_typed, read_text, read_upload
from shopapp.files.tables import as_text

HEADS = ("point", "amount", "page")
GOOD = "point,amount,page\r\nGearcase,350,6-4\r\n"


def read(content: bytes, *, size: int | None = None) -> list[dict[str, str]]:
    found = read_upload(io.BytesIO(content), size=len(content) if size is None else size, heads=HEADS)
    return [dict(row.cells) for row in found.rows]


@pytest.mark.parametrize(
    "content",
    [
        GOOD.encode(),
        b"\xef\xbb\xbf" + GOOD.encode(),
        GOOD.replace(",", ";").encode(),
        GOOD.replace("\r\n", "\n").encode(),
        b'"Point";"AMOUNT";" page "\n"Gearcase";"350";"6-4"\n\n;;\n',
    ],
)
def test_table_is_read_however_a_spreadsheet_wrote_it(content: bytes) -> None:
    assert read(content) == [{"point": "Gearcase", "amount": "350", "page": "6-4"}]


def test_cell_may_hold_commas_quotes_and_lines() -> None:
    rows = read(b'point,page\n"Sump, ""left""\nside",3-1\n')

    assert rows == [{"point": 'Sump, "left"\nside', "page": "3-1"}]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "a first line with these heads"),
        (b"point,amount,page\n", "at least one row"),
        (b"point,colour\nGearcase,red\n", "a first line with these heads"),
        (b"point,point\na,b\n", "a first line with these heads"),
        (b"point,page\na,b,c\n", "rows as long as the heads; line 2 is longer"),
        (b"point,page\n\xff\xfe,b\n", "in UTF-8"),
        ("point,page\nGearcase,b\n".encode("utf-16"), "in UTF-8"),
        (b"point,page\na\x00,b\n", "this is something else"),
        (b'point,page\n"a,b\n', "quotation marks are whole"),
        (b"PK\x03\x04 not a table at all", "a first line with these heads"),
        (b"point,page\n" + b"a,b\n" * (MOST_ROWS + 1), f"at most {MOST_ROWS} rows"),
    ],
)
def test_what_is_no_such_table_is_refused_with_a_sentence(content: bytes, sentence: str) -> None:
    with pytest.raises(BadInput) as refused:
        read(content)

    assert (refused.value.field, sentence in refused.value.sentence) == ("table", True)


class Counting(io.BytesIO):
    """A file that knows how much was read of it."""

    taken = 0

    def read(self, size: int | None = -1, /) -> bytes:
        content = super().read(size)
        self.taken += len(content)
        return content


def test_large_file_is_refused_before_it_is_read() -> None:
    file = Counting(b"a" * 10)
    with pytest.raises(BadInput, match="at most 200 kB"):
        read_upload(file, size=MOST_BYTES + 1, heads=HEADS)

    assert file.taken == 0


def test_file_larger_than_it_says_is_read_no_further() -> None:
    file = Counting(b"point,page\n" + b"a" * (3 * MOST_BYTES))
    with pytest.raises(BadInput, match="at most 200 kB"):
        read_upload(file, size=10, heads=HEADS)

    assert file.taken == MOST_BYTES + 1


def test_text_that_comes_back_is_held_to_the_same_size() -> None:
    with pytest.raises(BadInput, match="at most 200 kB"):
        read_text("point,page\n" + "é" * MOST_BYTES, heads=HEADS)


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "＝1", "'tis", "plain", ""])
def test_formula_stays_text_and_comes_back_as_it_was_typed(cell: str) -> None:
    written = as_text(cell)

    assert written[:1] not in tuple("=+-@＝")
    assert as_typed(written) == cell

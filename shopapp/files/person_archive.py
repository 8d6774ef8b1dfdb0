"""One ZIP with all that is kept about a customer: JSON, the same as tables, their papers and their photos."""

import contextlib
import json
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import IO, Any

from django.db import transaction

from shopapp.files.photos import photo_path
from shopapp.files.tables import csv_bytes
from shopapp.queries.person_data import DataTable, PersonData
from shopapp.queries.tables import Table

DATA = "data.json"
AT_ONCE = 1 << 16


def person_archive(
    data: PersonData, *, papers: Mapping[str, Path], locale: str, time_zone: str
) -> Iterator[bytes]:
    """The file in pieces; it is whole before the first one is given, and gone from the disk after the last.

    ``papers`` maps names in the file to stored papers. A photo or paper whose file is lost is left out.
    RuntimeError inside a transaction: it takes long, and everybody else would wait.
    """
    with transaction.atomic(durable=True):
        # Django refuses this block inside another one, and knows the transaction around a test
        pass
    with contextlib.ExitStack() as opened:
        out = opened.enter_context(tempfile.TemporaryFile(prefix="shopapp-data-"))
        _write(out, data, papers=papers, locale=locale, time_zone=time_zone)
        out.seek(0)
        opened.pop_all()
    return _Pieces(out)


def _write(
    out: IO[bytes], data: PersonData, *, papers: Mapping[str, Path], locale: str, time_zone: str
) -> None:
    photos = {name: photo_path(sha256) for name, sha256 in data.photos.items()}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        whole = {table.name: table.rows for table in data.tables}
        archive.writestr(DATA, json.dumps(whole, indent=1, ensure_ascii=False, default=_plain))
        for table in data.tables:
            text = b"".join(csv_bytes(_as_table(table), locale=locale, time_zone=time_zone))
            archive.writestr(f"tables/{table.name}.csv", text)
        for name, path in {**papers, **photos}.items():
            if path.exists():
                archive.write(path, name, zipfile.ZIP_STORED)


def _as_table(table: DataTable) -> Table:
    rows = ([row[name] for name in table.columns] for row in table.rows)
    return Table(name=table.name, columns=table.columns, rows=rows)


def _plain(value: Any) -> str:
    if isinstance(value, date | datetime):
        return value.isoformat()
    return str(value)


class _Pieces:
    """The file piece by piece; it is gone from the disk after the last, or when nobody asks for the first."""

    def __init__(self, out: IO[bytes]) -> None:
        self._out = out

    def __iter__(self) -> Iterator[bytes]:
        return self

    def __next__(self) -> bytes:
        piece = self._out.read(AT_ONCE)
        if not piece:
            self.close()
            raise StopIteration
        return piece

    def close(self) -> None:
        self._out.close()

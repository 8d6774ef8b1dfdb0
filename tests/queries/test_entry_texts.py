"""The text of a tablet's entry is read whole, or it is not an entry."""

import json
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from shopapp.queries.entry_texts import LONGEST_ENTRY, read_entry, read_moment

ID, KEY = "3f2b8c1e-0000-4000-8000-000000000001", "3f2b8c1e-0000-4000-8000-000000000002"
ENTRY = {
    "id": ID,
    "device": 3,
    "sequence": 17,
    "person": 5,
    "key": KEY,
    "kind": "part",
    "job": 12,
    "at": "2026-06-01T08:12:03.120Z",
    "offset_ms": -250,
    "content": {"quantity": "1"},
}
WRONG: dict[str, tuple[object, ...]] = {
    "device": (None, True, 0, -1, 1.0, "3", 2_000_000_001),
    "sequence": (None, False, 0, 10**400),
    "id": (None, 7, "", "x", "\ud800"),
    "person": (0, "5", [5], True),
    "kind": (None, 7, "a\x00", "\ud800"),
    "at": (None, 0, "", "2026-06-01", "2026-06-01T08:12:03", "1969-01-01T00:00:00Z"),
    "offset_ms": ("0", True, float("nan"), float("inf"), 1e300, 10**400),
    "content": (None, [], "x", {"a": 1}, {"a": None}, {"a": "\x00"}, {"a": "\udc00"}),
}


def test_entry_is_read_as_the_tablet_wrote_it() -> None:
    entry = read_entry(json.dumps(ENTRY))

    assert entry is not None
    assert (entry.id, entry.key, entry.device, entry.sequence) == (UUID(ID), UUID(KEY), 3, 17)
    assert (entry.person, entry.job, entry.kind, entry.content) == (5, 12, "part", {"quantity": "1"})
    assert entry.at == datetime(2026, 6, 1, 8, 12, 3, 120_000, tzinfo=UTC)
    assert entry.ahead == timedelta(milliseconds=-250)


def test_nobody_no_job_and_no_measured_clock_are_fine() -> None:
    entry = read_entry(json.dumps(ENTRY | {"person": None, "key": None, "job": None, "offset_ms": None}))

    assert entry is not None
    assert (entry.person, entry.key, entry.job, entry.ahead) == (None, None, None, None)


@pytest.mark.parametrize("name", ENTRY)
def test_entry_without_one_of_its_lines_is_none(name: str) -> None:
    assert read_entry(json.dumps({key: value for key, value in ENTRY.items() if key != name})) is None


@pytest.mark.parametrize(
    ("name", "value"), [(name, value) for name, values in WRONG.items() for value in values]
)
def test_line_of_the_wrong_kind_makes_it_none(name: str, value: object) -> None:
    assert read_entry(json.dumps(ENTRY | {name: value})) is None


@pytest.mark.parametrize(
    "text", ["", "null", "[]", "7", '"entry"', "{", "[" * 5_000, "\ud800", '{"id": "\\ud800"}']
)
def test_what_is_no_entry_is_none(text: str) -> None:
    assert read_entry(text) is None


def test_entry_may_be_so_long_and_no_longer() -> None:
    longest = json.dumps(ENTRY | {"content": {"text": ""}})
    fill = "x" * (LONGEST_ENTRY - len(longest))

    assert read_entry(longest.replace('"text": ""', f'"text": "{fill}"')) is not None
    assert read_entry(longest.replace('"text": ""', f'"text": "{fill}x"')) is None


def test_moment_needs_its_zone() -> None:
    assert read_moment("2026-06-01T10:12:03+02:00") == datetime(2026, 6, 1, 8, 12, 3, tzinfo=UTC)
    with pytest.raises(ValueError, match="2026-06-01T10:12:03"):
        read_moment("2026-06-01T10:12:03")

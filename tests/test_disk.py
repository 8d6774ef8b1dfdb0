"""Folders whose names must survive a power cut."""

from pathlib import Path

import pytest

from shopapp.disk import sync


def test_sync_leaves_no_handle_open(tmp_path: Path) -> None:
    (tmp_path / "photo.webp").write_bytes(b"x")
    before = len(list(Path("/proc/self/fd").iterdir()))

    sync(tmp_path)

    assert len(list(Path("/proc/self/fd").iterdir())) == before


def test_sync_says_when_there_is_none(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        sync(tmp_path / "nowhere")

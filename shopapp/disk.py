"""What photos, papers and backups ask of the disk."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def sync_folder(folder: Path) -> None:
    """Return once the names in a folder are on the disk: a new file's name itself survives a power cut."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_file(path: Path) -> None:
    """Return once what is in a file is on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def one_at_a_time(folder: Path) -> Iterator[None]:
    """The lock of a folder among all processes of this machine; a killed process lets go of it."""
    folder.mkdir(parents=True, exist_ok=True)
    with open(folder / "lock", "wb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield

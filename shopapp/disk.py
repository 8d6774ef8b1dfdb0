"""What photos, papers and backups ask of the disk."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def sync(path: Path) -> None:
    """Return once a file, or the names in a folder, are on the disk.

    A new file's name itself survives a power cut only when its folder was synced.
    """
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

"""Messages over a pipe: eight bytes that say how long, then the body. Used on both ends, so no Django."""

import struct
from typing import Protocol

_LENGTH = struct.Struct(">Q")


class Reader(Protocol):
    """The end of a pipe that is read; it may give fewer bytes than asked for."""

    def read(self, size: int, /) -> bytes | None: ...


class Writer(Protocol):
    """The end of a pipe that is written; it may take fewer bytes than given."""

    def write(self, data: memoryview, /) -> int | None: ...

    def flush(self) -> None: ...


def send(pipe: Writer, body: bytes) -> None:
    """Write one message whole. Raises OSError when nobody reads any more."""
    rest = memoryview(_LENGTH.pack(len(body)) + body)
    while rest:
        rest = rest[pipe.write(rest) or 0 :]
    pipe.flush()


def receive(pipe: Reader) -> bytes | None:
    """The next message, or ``None`` when the other side closed its end (also in the middle of a message)."""
    head = _exactly(pipe, size=_LENGTH.size)
    return None if head is None else _exactly(pipe, size=_LENGTH.unpack(head)[0])


def _exactly(pipe: Reader, *, size: int) -> bytes | None:
    parts, missing = [], size
    while missing:
        part = pipe.read(missing)
        if not part:
            return None
        parts.append(part)
        missing -= len(part)
    return b"".join(parts)

"""A wire between a browser and the shop's server, on which every byte is counted as it passes."""

import contextlib
import re
import socket
import threading
from collections.abc import Iterator

ASKED = re.compile(rb"(?:^|\n)(?:GET|POST|HEAD) (\S+) HTTP/1\.[01]\r\n")


class Wire:
    """Its port leads to the server's; `down` are the bytes to the browser, `asked` the paths it asked for."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listener.getsockname()[1]
        self.down = 0
        self.asked: list[str] = []
        threading.Thread(target=self._listen, daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def forget(self) -> None:
        """Count from nought."""
        self.down, self.asked = 0, []

    def close(self) -> None:
        self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()

    def _listen(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                near, _address = self._listener.accept()
                threading.Thread(target=self._connect, args=(near,), daemon=True).start()

    def _connect(self, near: socket.socket) -> None:
        # either end may be gone at any moment
        with near, socket.create_connection(("127.0.0.1", self._to)) as far:
            down = threading.Thread(target=self._pass_down, args=(far, near), daemon=True)
            down.start()
            with contextlib.suppress(OSError):
                for piece in _pieces(near):
                    self.asked += [path.decode() for path in ASKED.findall(piece)]
                    far.sendall(piece)
                far.shutdown(socket.SHUT_RDWR)
            down.join()

    def _pass_down(self, far: socket.socket, near: socket.socket) -> None:
        with contextlib.suppress(OSError):
            for piece in _pieces(far):
                self.down += len(piece)
                near.sendall(piece)
            near.shutdown(socket.SHUT_RDWR)


def _pieces(one: socket.socket) -> Iterator[bytes]:
    with contextlib.suppress(OSError):
        while piece := one.recv(65_536):
            yield piece

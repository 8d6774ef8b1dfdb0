"""The shop's own server as tablets meet it: up, killed, or dying before it says what it did."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from django.conf import global_settings

from tests.faults import stopping
from tests.faults.senders import GUNICORN, wait_until_answered
from tests.faults.stopping import LAST, Order
from tests.faults.test_killed_writer import forked
from tests.processes import REPOSITORY, manage, surroundings


class ShopServer:
    """One address, behind which nobody or one server is; photos lie in the test's folder.

    `changes` are settings of the environment.
    """

    def __init__(self, folder: Path, **changes: str) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self._folder, self._changes = folder, changes
        self._program: subprocess.Popen[bytes] | None = None
        self._process: BaseProcess | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """As the service starts it."""
        words = [*GUNICORN, "--workers", "1", "--bind", f"127.0.0.1:{self.port}", "--log-level", "critical"]
        self._program = subprocess.Popen(
            [sys.executable, "-m", *words],
            cwd=REPOSITORY,
            env=surroundings(**self._changes),
            start_new_session=True,
        )
        wait_until_answered(self.port, self._program)

    def start_to_die(self, path: str) -> None:
        """The next request of this path is done and committed, and never answered: kill -9 comes before."""
        answers, own_end = forked.Pipe(duplex=False)
        facts = {"port": self.port, "path": path}
        order = Order(deed="serve", folder=self._folder, stop_at=LAST, facts=facts)
        self._process = forked.Process(target=stopping.run, args=(order, own_end), daemon=True)
        self._process.start()
        own_end.close()
        assert answers.recv() == self.port

    def has_died(self, *, within_s: float) -> bool:
        """Whether the server that was to die is dead by then."""
        assert self._process is not None
        self._process.join(within_s)
        return self._process.exitcode == -signal.SIGKILL

    def kill(self) -> None:
        """kill -9, whatever it is in the middle of."""
        if self._program is not None:
            os.killpg(self._program.pid, signal.SIGKILL)
            self._program.wait(30)
        if self._process is not None:
            self._process.kill()
            self._process.join(30)
        self._program = self._process = None


@contextmanager
def shop_server(settings: Any, **changes: str) -> Iterator[ShopServer]:
    """The server, up, on the test's database and folders; it reads the PINs that the test sets."""
    settings.PASSWORD_HASHERS = global_settings.PASSWORD_HASHERS
    made = manage("collectstatic", "--noinput", **changes)
    assert made.returncode == 0, made.stderr
    server = ShopServer(Path(settings.PHOTO_DIR).parent, **changes)
    server.start()
    try:
        yield server
    finally:
        server.kill()

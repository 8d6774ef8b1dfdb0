"""What the processes do that are killed at one step of it: a statement, or a touch of the shop's files."""

import io
import os
import signal
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import django
import pytest
from django.apps import apps

if not apps.ready:
    # the server that forks these processes loads this module once, so that each starts at once
    django.setup()

from django.conf import settings
from django.core.management import call_command
from django.core.servers.basehttp import WSGIRequestHandler, WSGIServer
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.test.utils import override_settings

import shopapp.urls  # noqa: F401  (with the pages too: a server that is forked answers at once)
from shopapp.documents import papers
from shopapp.documents.invoices import invoice_pdf
from shopapp.files import restoring
from shopapp.files.backups import back_up
from shopapp.models import Invoice

LIVE, LAST = 0, -1


@dataclass(frozen=True, kw_only=True)
class Order:
    """What a process is to do, in which folder, and at which of its steps it is killed, if at all.

    The last step is when all is done and nobody was told.
    """

    deed: str
    folder: Path
    stop_at: int = LIVE
    facts: dict[str, Any] = field(default_factory=dict)


class Steps:
    """Counts the steps, and ends the process at one of them as kill -9 does."""

    def __init__(self, order: Order) -> None:
        self.count, self.is_armed = 0, True
        self._stop_at, self._folder = order.stop_at, str(order.folder)

    def step(self) -> None:
        self.count += 1
        self._end_at(self.count)

    def last(self) -> None:
        self.step()
        self._end_at(LAST)

    def _end_at(self, step: int) -> None:
        if self.is_armed and step == self._stop_at:
            os.kill(os.getpid(), signal.SIGKILL)

    def hear(self, event: str, words: tuple[object, ...]) -> None:
        """Python tells of each opening, renaming, removing, starting before it is done (PEP 578)."""
        if event == "subprocess.Popen" or any(
            str(word).startswith(self._folder) for word in words[:2] if isinstance(word, str | Path)
        ):
            self.step()

    def ask(self, execute: Callable[..., Any], *words: Any) -> Any:
        """Around each statement: killed before it, or after it and before the commit."""
        self.step()
        found = execute(*words)
        self.step()
        return found


def run(order: Order, answers: Connection) -> None:
    """Do it; the answer is sent only when all of it is done, which is a step too."""
    folder = order.folder
    stores = {
        "PHOTO_DIR": folder / "photos",
        "PAPER_DIR": folder / "papers",
        "BACKUP_DIR": folder / "backups",
    }
    steps = Steps(order)
    with override_settings(**stores), connection.execute_wrapper(steps.ask):
        sys.addaudithook(steps.hear)
        DEEDS[order.deed](steps, answers, **order.facts)


def serve(steps: Steps, answers: Connection, *, port: int = 0, path: str = "/") -> None:
    """The whole app behind a real socket, one request after the other; its port is told first.

    Only what is asked for below the path has steps at which the process can end.
    """
    # what it does to get ready is no step: its port would never be told
    steps.is_armed = False
    whole = get_wsgi_application()

    def app(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        steps.count, steps.is_armed = 0, environ["PATH_INFO"].startswith(path)
        response = whole(environ, start_response)
        # everything is committed, and nothing of the answer has been sent
        steps.last()
        return response

    server = WSGIServer(("127.0.0.1", port), _Quiet)
    server.set_app(app)
    answers.send(server.server_port)
    server.serve_forever()


class _Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Nothing."""


def make_paper(steps: Steps, answers: Connection, *, invoice: int, pdf: bytes) -> None:
    """The paper of an invoice, whose pages were drawn before: it takes its place among the stored ones."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(papers, "render_pdf", lambda _html, **_named: pdf)
        draw_paper(steps, answers, invoice=invoice)


def draw_paper(steps: Steps, answers: Connection, *, invoice: int) -> None:
    """The same, with its pages drawn by the process that knows how."""
    made = invoice_pdf(Invoice.objects.get(pk=invoice))
    steps.last()
    answers.send(len(made))


def make_backup(steps: Steps, answers: Connection, *, at: datetime) -> None:
    """A backup as ``manage.py back_up`` and the worker make it."""
    made = back_up(Path(settings.BACKUP_DIR), at=at)
    steps.last()
    answers.send(made.path.name)


def restore_backup(steps: Steps, answers: Connection, *, path: str, is_verified: bool) -> None:
    """``manage.py restore``; the checks of the unpacked shop take seconds, and may have been made before."""
    with pytest.MonkeyPatch.context() as patch:
        if is_verified:
            patch.setattr(restoring, "_verify", lambda *_words, **_named: None)
        call_command("restore", path, stdout=io.StringIO())
    steps.last()
    answers.send("restored")


DEEDS: dict[str, Callable[..., None]] = {
    "serve": serve,
    "make paper": make_paper,
    "draw paper": draw_paper,
    "make backup": make_backup,
    "restore": restore_backup,
}

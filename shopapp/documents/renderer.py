"""Makes PDF files in a warm child process, so that a document that hangs or dies takes nothing else along."""

import atexit
import json
import logging
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Mapping
from pathlib import Path

from django.utils.translation import gettext as _

from shopapp.documents.frames import receive, send

logger = logging.getLogger("shopapp.documents")

LIMIT_S = 10.0
_ROOT = Path(__file__).resolve().parents[2]
_COMMAND = (sys.executable, "-m", "shopapp.documents.render_process")
# the child gets no secret of the app, and nothing by which two runs could differ
_HANDED_DOWN = ("PATH", "HOME", "LD_LIBRARY_PATH", "FONTCONFIG_FILE", "FONTCONFIG_PATH", "XDG_CACHE_HOME")
_SAME_EACH_TIME = {"PYTHONHASHSEED": "0", "PYTHONUTF8": "1", "LANG": "C.UTF-8", "SOURCE_DATE_EPOCH": "0"}


class RenderFailed(Exception):
    """There is no PDF; the sentence may be shown as it stands."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def render_pdf(html: str, *, photos: Mapping[str, Path] | None = None) -> bytes:
    """The PDF of a document; the same HTML and photos always give the same bytes.

    ``photos`` maps names to files; the HTML shows one as ``<img src="photo:NAME">``. Besides them it may use
    packaged files, written relative to static/ (``css/paper.css``). Anything else that it asks for fails the
    whole document. Raises RenderFailed, at the latest after ten seconds.
    """
    return _shared.render(html, photos=photos or {})


class Renderer:
    """One child process, started when first needed, asked by one thread at a time, replaced when it died."""

    def __init__(self, *, limit_s: float = LIMIT_S) -> None:
        self._limit_s = limit_s
        self._lock = threading.Lock()
        self._child: subprocess.Popen[bytes] | None = None
        self._folder: str | None = None

    @property
    def pid(self) -> int | None:
        """The process that is there now, if any."""
        return self._child.pid if self._child is not None else None

    def render(self, html: str, *, photos: Mapping[str, Path]) -> bytes:
        """See ``render_pdf``. Waiting for another thread's document counts towards the limit."""
        until = time.monotonic() + self._limit_s
        if not self._lock.acquire(timeout=self._limit_s / 2):
            raise RenderFailed(_("Other papers are being made just now. Try again in a moment."))
        try:
            return self._asked(html, photos=photos, until=until)
        finally:
            self._lock.release()

    def close(self) -> None:
        """End the child and remove its folder."""
        child, folder = self._child, self._folder
        self._child = self._folder = None
        if child is not None:
            child.kill()
            child.communicate()
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)

    def _asked(self, html: str, *, photos: Mapping[str, Path], until: float) -> bytes:
        order = json.dumps({"html": html, "photos": {name: str(path) for name, path in photos.items()}})
        child = self._running()
        watch = threading.Timer(max(0.0, until - time.monotonic()), child.kill)
        watch.daemon = True
        watch.start()
        try:
            answer = _exchange(child, order.encode(errors="surrogatepass"))
        finally:
            watch.cancel()
        if answer is None:
            self.close()
            raise RenderFailed(self._why_nothing_came(until))
        if answer[:1] != b"+":
            return _fail(answer[1:].decode(errors="replace"))
        return answer[1:]

    def _running(self) -> subprocess.Popen[bytes]:
        if self._child is not None and self._child.poll() is None:
            return self._child
        self.close()
        self._folder = tempfile.mkdtemp(prefix="shopapp-paper-")
        handed_down = {name: os.environ[name] for name in _HANDED_DOWN if name in os.environ}
        self._child = subprocess.Popen(  # noqa: S603 (a fixed command; what people wrote goes through the pipe)
            _COMMAND,
            bufsize=0,  # nothing may lie half written in a buffer that a fork would copy
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            cwd=_ROOT,
            env=handed_down | _SAME_EACH_TIME | {"TMPDIR": self._folder},
            start_new_session=True,  # Ctrl-C is for the server; the child ends when its input does
        )
        return self._child

    def _why_nothing_came(self, until: float) -> str:
        if time.monotonic() < until:
            return _("The paper could not be made: the program that makes it stopped. Try again.")
        return _("The paper was not ready after %(seconds)s seconds. Try again.") % {
            "seconds": f"{self._limit_s:g}"
        }


def _exchange(child: subprocess.Popen[bytes], order: bytes) -> bytes | None:
    if child.stdin is None or child.stdout is None:
        raise TypeError("the child is always started with pipes")
    try:
        send(child.stdin, order)
        return receive(child.stdout)
    except (OSError, ValueError):  # the other end, or our own, was closed meanwhile
        return None


def _fail(reason: str) -> bytes:
    logger.error("a paper could not be made: %s", reason)
    raise RenderFailed(_("The paper could not be made: %(reason)s.") % {"reason": reason.rstrip(".")})


_shared = Renderer()


def _start_anew_after_fork() -> None:
    # the parent's child answers the parent alone, and its lock may be held by a thread that is not here
    global _shared  # noqa: PLW0603 (one per process is the point)
    _shared = Renderer()


def _close_at_exit() -> None:
    _shared.close()


os.register_at_fork(after_in_child=_start_anew_after_fork)
atexit.register(_close_at_exit)

"""Somebody who is signed in and sends forms over a real socket, and the shop's own server to send them to."""

import http.client
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

from shopapp.models import Person
from tests.processes import REPOSITORY, surroundings

CSRF = "a" * 32
# as the service starts it, but for the port and how many processes there are
GUNICORN = ("gunicorn", "shopapp.wsgi", "--worker-class", "gthread", "--threads", "4", "--no-control-socket")
LONGEST_START_S = 60


class Sender:
    """A browser in which somebody is signed in; may be used by several threads at once."""

    def __init__(self, person: Person) -> None:
        client = Client()
        client.force_login(person)
        session = client.cookies[settings.SESSION_COOKIE_NAME].value
        self._cookies = f"{settings.SESSION_COOKIE_NAME}={session}; {settings.CSRF_COOKIE_NAME}={CSRF}"

    def posts(self, path: str, typed: dict[str, object], *, port: int) -> str | None:
        """Where the answer leads; none where the server was killed before it sent one, or was busy."""
        body = encode_multipart(BOUNDARY, typed | {"csrfmiddlewaretoken": CSRF})
        for file in typed.values():
            if isinstance(file, SimpleUploadedFile):
                file.seek(0)
        talk = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        try:
            talk.request("POST", path, body, {"Cookie": self._cookies, "Content-Type": MULTIPART_CONTENT})
            answer = talk.getresponse()
            said = answer.read().decode()
        except (ConnectionError, http.client.HTTPException):
            return None
        finally:
            talk.close()
        if answer.status == 409 and "is just being saved" in said:
            return None
        assert answer.status == 302, (answer.status, said)
        return answer.headers["Location"]


@contextmanager
def served(*, processes: int) -> Iterator[int]:
    """The shop's own server on the test's database and folders; gives its port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [*GUNICORN, "--workers", str(processes), "--bind", f"127.0.0.1:{port}", "--log-level", "warning"]
    server = subprocess.Popen([sys.executable, "-m", *words], cwd=REPOSITORY, env=surroundings())
    try:
        wait_until_answered(port, server)
        yield port
    finally:
        server.terminate()
        server.wait(30)


def wait_until_answered(port: int, server: subprocess.Popen[bytes]) -> None:
    """Until it answers: the socket is open before a process of it has loaded the app."""
    end = time.monotonic() + LONGEST_START_S
    while time.monotonic() < end and server.poll() is None:
        talk = http.client.HTTPConnection("127.0.0.1", port, timeout=LONGEST_START_S)
        try:
            talk.request("GET", "/people/sign-in/")
            talk.getresponse()
        except ConnectionError:
            time.sleep(0.05)
        else:
            return
        finally:
            talk.close()
    raise AssertionError("the server did not start")

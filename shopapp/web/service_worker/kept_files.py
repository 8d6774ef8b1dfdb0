"""The static files that a tablet keeps, so that the bench opens without a network."""

import hashlib
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders

# what the frame of every page of the bench is made of; the bench's own folder comes whole
FRAME = (
    "css/tokens.css",
    "css/base.css",
    "css/joints.css",
    "django_htmx/htmx-2.min.js",
    "icons/favicon.svg",
    "icons/signs.svg",
    "js/bench_lock.js",
    "js/photo_pick.js",
    "js/pin_pad.js",
    "js/shortcuts.js",
    "js/theme.js",
    "js/working.js",
    "vendor/atkinson-hyperlegible-mono/latin-500.woff2",
    "vendor/atkinson-hyperlegible-next/latin-400.woff2",
    "vendor/atkinson-hyperlegible-next/latin-700.woff2",
    "vendor/idb/idb.js",
)
# heavy, and only for tablets whose browser reads no codes by itself, or that go to the dock: kept once it was
# asked for
LATER = (
    "vendor/jsqr/jsQR.js",
    "css/counter.css",
    "js/signature.js",
    "vendor/signature_pad/signature_pad.min.js",
)
ROOM = "bench"
# the worker's own script: the browser keeps that by itself
WORKER = f"{ROOM}/worker.js"


def kept_files() -> tuple[str, ...]:
    """Names of static files, in a fixed order."""
    own = (f"{ROOM}/{path.name}" for path in _folder().iterdir() if path.suffix in (".css", ".js"))
    return (*FRAME, *sorted(name for name in own if name != WORKER))


def version() -> str:
    """Changes whenever one of the files does, or the worker itself."""
    return _once() if settings.PRODUCTION else _version()


def _version() -> str:
    told = hashlib.sha256()
    for name in (*kept_files(), *LATER, WORKER):
        told.update(name.encode() + _content(name))
    return told.hexdigest()[:16]


_once = cache(_version)


def _folder() -> Path:
    return Path(settings.BASE_DIR) / "static" / ROOM


def _content(name: str) -> bytes:
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(name)
    return Path(found).read_bytes()

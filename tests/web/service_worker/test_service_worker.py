"""The service worker: which files it keeps, and that nobody has to be signed in for it."""

import gzip
import json
import re

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.utils import timezone

from shopapp.models import Person, Stage
from shopapp.web.service_worker import kept_files
from tests.factories.devices import PIN, at_tablet, browser_of
from tests.factories.dock_calls import at_dock
from tests.factories.entries import tablet_of
from tests.factories.jobs import agreed_job
from tests.factories.quotes import sent_quote

_STATIC = re.compile(r"\s(?:src|href)=\"/static/([^\"#]+)")
_IMPORTED = re.compile(r"from \"\./([\w.]+)\"")


def told(client: Client) -> dict[str, object]:
    answer = client.get("/service-worker.js")
    assert answer["Content-Type"] == "text/javascript; charset=utf-8"
    script = answer.content.decode()
    found: dict[str, object] = json.loads(
        script.partition("self.BENCH = ")[2].partition(";\nimportScripts")[0]
    )
    return found


def test_worker_is_asked_for_each_time(client: Client) -> None:
    answer = client.get("/service-worker.js")

    assert (answer.status_code, answer["Cache-Control"]) == (200, "no-cache")
    assert b'importScripts("/static/bench/worker.js")' in answer.content


def test_all_that_a_page_of_the_bench_needs_is_kept(tobiah: Person, client: Client) -> None:
    """Photos and the icons of the home screen are not: they are no part of the page's frame."""
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    tablet = at_tablet(tobiah, at=timezone.now())
    pages = [tablet.get(path).content.decode() for path in ("/bench/", f"/bench/job/{job.pk}/")]
    needed = {name for page in pages for name in _STATIC.findall(page)}

    kept = set(told(client)["files"])  # type: ignore[call-overload]  # a list of paths

    assert {f"/static/{name}" for name in needed if not name.endswith(".png")} - kept == set()
    assert len(needed) > 10


def test_all_that_the_dock_call_needs_is_kept_once_it_was_asked_for(
    ilse: Person, maren: Person, tobiah: Person, client: Client
) -> None:
    """What its page names, and brings along, is among the files of every tablet or those of some."""
    moment = timezone.now()
    dock = at_dock(sent_quote(ilse, at=moment), tablet_of(maren, tobiah, at=moment), tobiah, by=ilse)
    tablet = browser_of(dock.tablet.token)
    tablet.post(f"/devices/worker/{tobiah.pk}/pin/", {"secret": PIN})
    page = tablet.get(f"/bench/dock/{dock.call.pk}/").content.decode()

    frame, later = (set(told(client)[name]) for name in ("files", "later"))  # type: ignore[call-overload]

    needed = {f"/static/{name}" for name in _STATIC.findall(page) if not name.endswith(".png")}
    assert needed - frame - later == set()
    brought = set(re.findall(r'href="(/static/[^"]+)" data-bring', page))
    assert brought == needed - frame
    assert "/static/vendor/signature_pad/signature_pad.min.js" in brought


def test_every_script_that_another_names_is_kept() -> None:
    kept = set(kept_files.kept_files())
    scripts = [name for name in kept if name.startswith("bench/") and name.endswith(".js")]

    named = {f"bench/{other}" for name in scripts for other in _IMPORTED.findall(words(name))}

    assert named - kept == set()
    assert len(named) > 5


def words(name: str) -> str:
    found = finders.find(name)
    assert isinstance(found, str)
    with open(found, encoding="utf-8") as file:
        return file.read()


def test_version_follows_the_files(monkeypatch: pytest.MonkeyPatch) -> None:
    before, content = kept_files.version(), kept_files._content
    assert kept_files.version() == before

    def changed(name: str) -> bytes:
        return content(name) + (b"/* mended */" if name == "js/pin_pad.js" else b"")

    monkeypatch.setattr(kept_files, "_content", changed)
    assert kept_files.version() != before


def test_page_of_its_own_says_nothing_of_the_shop(client: Client, tobiah: Person) -> None:
    page = str(told(client)["nothingKept"])

    assert ("No connection" in page, tobiah.name in page, "Heron Inlet" in page) == (True, False, False)


def test_first_load_weighs_less_than_150_kb(tobiah: Person) -> None:
    """The page, itself and all files that it keeps, as the server compresses them; fonts are already."""
    tablet = at_tablet(tobiah, at=timezone.now())
    agreed_job(Stage.IN_HAND, technician=tobiah)
    made = [tablet.get(path).content for path in ("/bench/", "/service-worker.js", "/manifest.webmanifest")]
    files = {name: kept_files._content(name) for name in (*kept_files.kept_files(), kept_files.WORKER)}

    weights = {
        name: len(body if name.endswith(".woff2") else gzip.compress(body)) for name, body in files.items()
    }
    total = sum(weights.values()) + sum(len(gzip.compress(body)) for body in made)

    assert 60_000 < total < 150_000, (total, weights)

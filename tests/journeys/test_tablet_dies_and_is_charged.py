"""Two technicians, one tablet, no network; the battery dies; each entry is there once, under its own name."""

import os
import random
import signal
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext

from shopapp.models import JobAssignment, JobNote, PartUsed, Person, Stage, TabletEntry
from tests.factories.jobs import job_at
from tests.journeys.conftest import ARGUMENTS, PATIENCE, Watched, chromium_path
from tests.journeys.servers import ShopServer
from tests.journeys.tablets import give_pin, make_tablet, unsent, wait_until_kept
from tests.journeys.typists import Typist

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

Switch = Callable[[], BrowserContext]
WORDS = {"note": "Line on the shaft ", "part": "Gasket "}


@pytest.fixture
def switch_on(browser: Browser, tmp_path: Path, server: ShopServer) -> Iterator[Switch]:
    """The tablet with what it has on its disk, switched on once more."""
    running: list[BrowserContext] = []

    def start() -> BrowserContext:
        context = browser.browser_type.launch_persistent_context(
            tmp_path / "tablet",
            executable_path=chromium_path(),
            args=ARGUMENTS,
            base_url=server.url,
            viewport={"width": 768, "height": 1024},
            has_touch=True,
        )
        context.set_default_timeout(PATIENCE)
        running.append(context)
        return context

    yield start
    for context in running:
        context.close()


def battery_dies(folder: Path) -> None:
    """Every process of the browser is gone at once; nothing was told to save anything."""
    found = subprocess.run(
        ["pgrep", "-f", "--", f"--user-data-dir={folder}"], capture_output=True, text=True, check=True
    )
    for pid in found.stdout.split():
        os.kill(int(pid), signal.SIGKILL)


def both_at_one(context: BrowserContext, *, owner: Person, crew: list[Person]) -> None:
    tablet = make_tablet(Watched(context.new_page()), owner=owner)
    for person in crew:
        give_pin(tablet, person)
        wait_until_kept(tablet, person, pages=2)
    context.close()


def test_dead_battery_loses_no_entry(
    switch_on: Switch, server: ShopServer, tmp_path: Path, maren: Person, crew: list[Person]
) -> None:
    job = job_at(Stage.IN_HAND, technician=crew[0])
    JobAssignment.objects.create(job=job, person=crew[1])
    both_at_one(switch_on(), owner=maren, crew=crew)

    server.kill()
    tablet = Watched(switch_on().new_page())
    typist = Typist(name="A", tablet=tablet, people=crew, jobs=[job], rng=random.Random(1), who=1)
    typist.writes(5)
    typist.hands_over()
    typist.writes(5)
    battery_dies(tmp_path / "tablet")
    tablet = Watched(switch_on().new_page())
    tablet.page.goto("/bench/")
    unsent(tablet, typist.sent)
    server.start()
    tablet.page.reload()
    unsent(tablet, 0)

    assert set(TabletEntry.objects.values_list("state", flat=True)) == {"stored"}
    assert TabletEntry.objects.count() == typist.sent
    written = [*JobNote.objects.values_list("text", "written_by")]
    written += PartUsed.objects.values_list("description", "logged_by")
    assert sorted(written) == sorted(
        (WORDS[one.kind] + one.mark, one.person.pk) for one in typist.typed if one.kind in WORDS
    )
    assert {who for _words, who in written} == {person.pk for person in crew}

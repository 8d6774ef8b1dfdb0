"""Two real processes issue invoices, one of them is killed again and again: no number is lost or repeated."""

import os
import random
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

import pytest
from django.db import connection

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.documents.canonical import digest
from shopapp.models import Activity, Invoice, NumberSeries, Person
from tests.factories.invoices import drafted

# a hundred as T25 says in the long run by hand (see DEVELOPERS.md), fewer in the everyday one
COUNT = 100 if os.environ.get("SHOPAPP_FAULT_ROUNDS") else 32
KILLS = 3


def address_of_database() -> str:
    """The test's own database as an environment variable would name it."""
    named = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{named['NAME']}"
    who = f"{quote(named['USER'] or '', safe='')}:{quote(named['PASSWORD'] or '', safe='')}"
    return f"postgres://{who}@{quote(named['HOST'] or '', safe='')}:{named['PORT']}/{named['NAME']}"


def start(keys: list[int], folder: Path) -> subprocess.Popen[str]:
    environment = dict(os.environ) | {
        "DJANGO_SETTINGS_MODULE": "shopapp.settings",
        "DATABASE_URL": address_of_database(),
        "SHOPAPP_DATA": str(folder),
    }
    return subprocess.Popen(
        [sys.executable, "-m", "tests.faults.issue_invoices", *map(str, keys)],
        stdout=subprocess.PIPE,
        env=environment,
        cwd=Path(__file__).parents[2],
        text=True,
    )


def said_before_the_kill(process: subprocess.Popen[str], *, lines: int, pause_s: float) -> list[str]:
    """What the process acknowledged; it is killed in the middle of whatever it does after that."""
    assert process.stdout is not None
    heard = [process.stdout.readline() for _ in range(lines)]
    time.sleep(pause_s)
    process.kill()
    rest, _ = process.communicate()
    # a line that the kill cut off was never heard whole
    return heard + [line for line in rest.splitlines(keepends=True) if line.endswith("\n")]


@pytest.mark.django_db(transaction=True)
def test_killed_process_leaves_gapless_numbers_t25(
    ilse: Person, by: Callable[[Person], Actor], tmp_path: Path
) -> None:
    keys = [drafted(by=by(ilse)).pk for _ in range(COUNT)]
    chance = random.Random(25)
    heard: list[str] = []

    other = start(keys[1::2], tmp_path)
    for turn in range(1, KILLS + 1):
        victim = start(keys[0::2], tmp_path)
        heard += said_before_the_kill(victim, lines=COUNT // 8 * turn, pause_s=chance.uniform(0, 0.02))
    last = start(keys[0::2], tmp_path)
    for process in (other, last):
        heard += process.communicate(timeout=60)[0].splitlines(keepends=True)

    numbers = [f"INV-{place:05d}" for place in range(1, COUNT + 1)]
    stored = {f"{invoice.pk} {invoice.number}\n": invoice for invoice in Invoice.objects.all()}
    assert (other.returncode, last.returncode) == (0, 0)
    assert sorted(str(invoice.number) for invoice in stored.values()) == numbers
    assert set(heard) == set(stored)
    assert NumberSeries.objects.get(code="invoice").next_value == COUNT + 1
    assert [invoice.lines.count() for invoice in stored.values()] == [1] * COUNT
    assert [digest(one.shown) == one.shown_sha256 for one in stored.values()] == [True] * COUNT
    assert Activity.objects.filter(verb="issue invoice").count() == COUNT
    assert first_bad_link() is None

"""Processes are killed at each step they take, one after the other: nothing half stands as whole afterwards.

A step is a statement of SQL or a touch of one of the shop's own files. The everyday run takes a few of them,
``-m soak -s`` every one.
"""

import contextlib
import hashlib
import io
import sys
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import chain, count
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from PIL import Image

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.documents.invoices import invoice_pdf
from shopapp.documents.papers import sweep_papers
from shopapp.files.backup_archives import contents_of, unpack
from shopapp.files.backups import back_up
from shopapp.files.photos import sweep_photos
from shopapp.models import Customer, Invoice, Person, Photo, RequestKey, Stage, StoredPaper, WorkOrder
from shopapp.queries.backups import backups_in
from tests.factories.invoices import issued
from tests.factories.jobs import job_at
from tests.faults import stopping
from tests.faults.senders import Sender
from tests.faults.stopping import LAST, Order
from tests.faults.test_killed_writer import forked
from tests.files.shops import MADE_AT, shop_with_photos
from tests.processes import surroundings

pytestmark = pytest.mark.django_db(transaction=True)
TOMORROW = timedelta(days=1)


def at_steps(usual: int, *, daily: bool = True) -> pytest.MarkDecorator:
    """How many steps lie between two kills: a few kills each day where it is told, all of them by hand."""
    few = pytest.param(usual, marks=[] if daily else pytest.mark.soak)
    return pytest.mark.parametrize("apart", [few, pytest.param(1, marks=pytest.mark.soak)])


@pytest.fixture(autouse=True)
def _processes_see_this_database(monkeypatch: pytest.MonkeyPatch, transactional_db: None) -> None:
    for name, value in surroundings().items():
        monkeypatch.setenv(name, value)
    forked.set_forkserver_preload(["tests.faults.writers", "tests.faults.stopping"])


def begun(order: Order) -> tuple[BaseProcess, Connection]:
    answers, own_end = forked.Pipe(duplex=False)
    process = forked.Process(target=stopping.run, args=(order, own_end), daemon=True)
    process.start()
    own_end.close()
    return process, answers


def done(deed: str, stop_at: int, **facts: object) -> bool:
    """Whether the process came to its end; otherwise it was killed, and said nothing."""
    process, answers = begun(Order(deed=deed, folder=folder(), stop_at=stop_at, facts=facts))
    process.join(60)
    said = []
    with contextlib.suppress(EOFError):
        said.append(answers.recv())
    assert (process.exitcode, len(said)) in ((0, 1), (-9, 0))
    return bool(said)


def folder() -> Path:
    return Path(settings.PHOTO_DIR).parent


def kills(apart: int) -> Iterator[int]:
    """The steps at which a process is killed, one process each: the last of all, then from the first on."""
    return chain([LAST], count(1 + (apart > 1) * (apart // 2), apart))


def told(what: str, killed: int) -> None:
    sys.stdout.write(f"{connection.vendor}: {killed} killed {what}\n")


def all_are_what_they_say(store: Path, pattern: str) -> bool:
    """Whether each file that has its own name is whole: the name is the hash of what is in it."""
    files = list(store.glob(pattern))
    return [hashlib.sha256(one.read_bytes()).hexdigest() for one in files] == [one.stem for one in files]


@at_steps(9, daily=False)
@pytest.mark.usefixtures("real_migrations")
def test_killed_backup_leaves_whole_ones_and_the_next_one_works(
    ilse: Person, by: Callable[[Person], Actor], apart: int
) -> None:
    shop_with_photos(by(ilse))
    backups, killed, moments = Path(settings.BACKUP_DIR), 0, (MADE_AT + timedelta(seconds=n) for n in count())

    for step in kills(apart):
        was_done = done("make backup", step, at=next(moments))
        for backup in backups_in(backups):
            unpack(backup.path, contents_of(backup.path), folder=None)
        made = back_up(backups, at=next(moments))
        assert made in backups_in(backups)
        assert not list(backups.glob(".making-*"))
        killed += not was_done
        if was_done:
            break

    told("while they made a backup", killed)
    assert killed > 1


@pytest.mark.parametrize("deed", ["make paper", pytest.param("draw paper", marks=pytest.mark.soak)])
@at_steps(9, daily=False)
def test_killed_paper_makers_leave_no_half_paper(
    ilse: Person, by: Callable[[Person], Actor], deed: str, apart: int
) -> None:
    invoice, killed = issued(by=by(ilse)), 0
    pdf = invoice_pdf(invoice)
    facts = {"invoice": invoice.pk} | ({"pdf": pdf} if deed == "make paper" else {})

    for step in kills(apart):
        StoredPaper.objects.all().delete()
        sweep_papers(datetime.now(UTC) + TOMORROW)
        assert not list(settings.PAPER_DIR.glob("*.*"))
        was_done = done(deed, step, **facts)
        assert all_are_what_they_say(settings.PAPER_DIR, "*.pdf")
        assert invoice_pdf(Invoice.objects.get()) == pdf
        sweep_papers(datetime.now(UTC) + TOMORROW)
        assert [one.name for one in settings.PAPER_DIR.glob("*.*")] == [
            f"{hashlib.sha256(pdf).hexdigest()}.pdf"
        ]
        killed += not was_done
        if was_done:
            break

    told(f"where they {deed}", killed)
    assert (killed > 1, StoredPaper.objects.count()) == (True, 1)


class Browser(Sender):
    """Somebody behind a real socket; without an answer the same form is sent again."""

    def __init__(self, person: Person) -> None:
        super().__init__(person)
        self._spare, answers = begun(Order(deed="serve", folder=folder()))
        self._port = answers.recv()

    def close(self) -> None:
        self._spare.kill()
        self._spare.join(30)

    def posts_to_one_that_dies(self, path: str, typed: dict[str, object], *, stop_at: int) -> str | None:
        process, answers = begun(Order(deed="serve", folder=folder(), stop_at=stop_at))
        try:
            return self.posts(path, typed, port=answers.recv())
        finally:
            process.kill()
            process.join(30)

    def posts_until_answered(self, path: str, typed: dict[str, object], *, stop_at: int) -> tuple[str, bool]:
        """Where the answer leads, and whether the first server lived to send it."""
        first = self.posts_to_one_that_dies(path, typed, stop_at=stop_at)
        again = self.posts(path, typed, port=self._port)
        assert again is not None
        assert first in (None, again)
        return again, first is not None


@pytest.fixture
def browser(ilse: Person) -> Iterator[Browser]:
    browser = Browser(ilse)
    yield browser
    browser.close()


@at_steps(67)
def test_lost_answer_and_retry_are_one_order_t19(browser: Browser, apart: int) -> None:
    """A server is killed at each step of taking a boat in, up to the last: committed and not answered."""
    killed, keys = 0, RequestKey.objects.count()

    for tries, step in enumerate(kills(apart), start=1):
        typed: dict[str, object] = {
            "name": f"Anna Berg {tries}",
            "phone": f"604 555 {tries:04}",
            "kept_on": "trailer",
            "engine": "new",
            "complaint": "Overheats",
            "test_kind": "water",
            "once_key": str(uuid.uuid4()),
        }
        leads, was_answered = browser.posts_until_answered("/arrivals/new/", typed, stop_at=step)
        newest = WorkOrder.objects.latest("pk")
        assert leads == f"/arrivals/{newest.pk}/taken-in/"
        assert (newest.number, Customer.objects.count()) == (f"W-{tries:05}", tries)
        assert RequestKey.objects.count() == keys + tries
        killed += not was_answered
        if was_answered:
            break

    told("while they took a boat in", killed)
    assert (killed > 1, first_bad_link()) == (True, None)


def drawn(number: int) -> bytes:
    """A picture like no other."""
    out = io.BytesIO()
    Image.new("RGB", (8, 8), (number % 256, 7 * number % 256, number // 256)).save(out, "PNG")
    return out.getvalue()


@at_steps(53)
def test_killed_upload_is_one_photo_and_leaves_nothing_after_the_sweep(browser: Browser, apart: int) -> None:
    job, killed = job_at(Stage.HERE), 0

    for tries, step in enumerate(kills(apart), start=1):
        if tries % 20 == 0:
            job = job_at(Stage.HERE)
        typed: dict[str, object] = {
            "photo": SimpleUploadedFile("oil.png", drawn(tries), content_type="image/png"),
            "caption": f"Oil {tries}",
            "once_key": str(uuid.uuid4()),
        }
        address = f"/work-orders/job/{job.pk}/add-photo/"
        was_answered = browser.posts_until_answered(address, typed, stop_at=step)[1]
        assert Photo.objects.filter(caption=f"Oil {tries}").count() == 1
        assert all_are_what_they_say(settings.PHOTO_DIR, "*.webp")
        killed += not was_answered
        if was_answered:
            break

    sweep_photos(datetime.now(UTC) + TOMORROW)
    named = {f"{sha256}.webp" for sha256 in Photo.objects.values_list("sha256", flat=True)}
    told("while a photo was sent", killed)
    assert {one.name for one in settings.PHOTO_DIR.glob("*.*")} == named
    assert (killed > 1, Photo.objects.count(), first_bad_link()) == (True, tries, None)

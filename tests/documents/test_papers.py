"""Papers are made once, kept under their hash, and never made inside a transaction."""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from shopapp.documents.papers import paper_bytes
from shopapp.documents.renderer import RenderFailed
from shopapp.models import StoredPaper

pytestmark = pytest.mark.django_db

CONTENT = "c" * 64


def maker(text: str, made: list[str]) -> Callable[[], str]:
    def make() -> str:
        made.append(text)
        return f'<html lang="en"><title>{text}</title><body>{text}</body></html>'

    return make


def test_paper_is_made_once_and_read_after() -> None:
    made: list[str] = []

    first = paper_bytes("invoice", CONTENT, maker("one", made))
    second = paper_bytes("invoice", CONTENT, maker("two", made))

    assert first == second
    assert made == ["one"]


def test_paper_lies_under_its_own_hash(settings: Any) -> None:
    pdf = paper_bytes("invoice", CONTENT, maker("one", []))

    row = StoredPaper.objects.get()
    files = {path.name: path.read_bytes() for path in Path(settings.PAPER_DIR).iterdir()}
    assert files == {f"{hashlib.sha256(pdf).hexdigest()}.pdf": pdf}
    assert (row.document, row.content_sha256, f"{row.pdf_sha256}.pdf") == ("invoice", CONTENT, *files)


@pytest.mark.parametrize("harm", ["lost", "shortened", "changed"])
def test_harmed_paper_is_made_anew(harm: str, settings: Any) -> None:
    before = paper_bytes("invoice", CONTENT, maker("one", []))
    path = next(Path(settings.PAPER_DIR).iterdir())
    made: list[str] = []
    if harm == "lost":
        path.unlink()
    else:
        path.write_bytes(before[:100] if harm == "shortened" else before + b"%")

    after = paper_bytes("invoice", CONTENT, maker("one", made))

    assert (after, made) == (before, ["one"])
    assert path.read_bytes() == before


def test_newer_paper_replaces_a_lost_one(settings: Any) -> None:
    paper_bytes("invoice", CONTENT, maker("one", []))
    next(Path(settings.PAPER_DIR).iterdir()).unlink()

    after = paper_bytes("invoice", CONTENT, maker("two", []))

    assert StoredPaper.objects.get().pdf_sha256 == hashlib.sha256(after).hexdigest()
    assert paper_bytes("invoice", CONTENT, maker("three", [])) == after


def test_two_makers_both_get_the_first_paper() -> None:
    finished: list[bytes] = []

    def make_while_another_finishes() -> str:
        finished.append(paper_bytes("invoice", CONTENT, maker("the quicker", [])))
        return maker("the slower", [])()

    slower = paper_bytes("invoice", CONTENT, make_while_another_finishes)

    assert slower == finished[0]
    assert StoredPaper.objects.count() == 1


def test_paper_inside_a_transaction_is_refused() -> None:
    made: list[str] = []

    with pytest.raises(RuntimeError, match="durable atomic block"), transaction.atomic():
        paper_bytes("invoice", CONTENT, maker("one", made))

    assert (made, StoredPaper.objects.count()) == ([], 0)


def test_kept_paper_may_be_read_anywhere() -> None:
    pdf = paper_bytes("invoice", CONTENT, maker("one", []))

    with transaction.atomic():
        again = paper_bytes("invoice", CONTENT, maker("one", []))

    assert again == pdf


def test_no_room_for_the_paper_is_said(settings: Any, tmp_path: Path) -> None:
    (tmp_path / "blocked").write_text("a file where the folder should be")
    settings.PAPER_DIR = tmp_path / "blocked"

    with pytest.raises(RenderFailed, match=r"could not be kept: .+ Make room on the disk, then try again"):
        paper_bytes("invoice", CONTENT, maker("one", []))

    assert StoredPaper.objects.count() == 0


def test_paper_that_fails_leaves_nothing(settings: Any) -> None:
    with pytest.raises(RenderFailed, match="not a part of it"):
        paper_bytes("invoice", CONTENT, lambda: '<img src="http://localhost:9/x">')

    assert (StoredPaper.objects.count(), Path(settings.PAPER_DIR).exists()) == (0, False)

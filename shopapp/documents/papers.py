"""Keeps each paper as it was first made: a PDF is made once from frozen content and read ever after.

The bytes lie in settings.PAPER_DIR under their own SHA-256; a row says which content they show.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable, Collection, Mapping
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.db.models.functions import Now
from django.utils.translation import gettext as _

from shopapp.disk import one_at_a_time, sync
from shopapp.documents.renderer import RenderFailed, render_pdf
from shopapp.models import StoredPaper


def paper_bytes(
    document: str,
    content_sha256: str,
    make: Callable[[], str],
    *,
    photos: Mapping[str, Path] | None = None,
) -> bytes:
    """The PDF that shows this content: the stored one, else made from ``make()`` and stored.

    ``document`` is "quote" or "invoice"; ``make`` gives the HTML and is not called when the paper is there;
    ``photos`` are those the HTML shows (see ``render_pdf``).
    Two who make the same paper at once both get the bytes of the first. A stored file that is lost or was
    changed is made anew. Raises RenderFailed when there is no paper, or no room to keep it; RuntimeError
    inside a transaction, since making one takes long and would keep everybody else waiting.
    """
    kept = _kept(content_sha256)
    if kept is not None:
        return kept
    _require_no_transaction()
    pdf = render_pdf(make(), photos=photos)
    name = _store(pdf)
    row = StoredPaper(document=document, content_sha256=content_sha256, pdf_sha256=name, made_at=Now())
    StoredPaper.objects.bulk_create([row], ignore_conflicts=True)
    first = _kept(content_sha256)
    if first is not None:
        return first
    # the row was there, but its file was not what it says
    StoredPaper.objects.filter(content_sha256=content_sha256).update(pdf_sha256=name, made_at=Now())
    return pdf


def stored_files(keys: Collection[str]) -> dict[str, Path]:
    """Content key → file of those papers that were made. One query."""
    rows = StoredPaper.objects.filter(content_sha256__in=keys).values_list("content_sha256", "pdf_sha256")
    return {key: _path(name) for key, name in rows}


def forget_papers(names: Collection[str]) -> None:
    """Remove the files of papers that no row names any more; what is not there is gone already.

    Call it after the commit that took the rows away. Waits for a backup that is being made. If the power
    fails before it, files are left over, which ``sweep_papers`` removes.
    """
    with one_at_a_time(settings.BACKUP_DIR):
        named = set(StoredPaper.objects.filter(pdf_sha256__in=names).values_list("pdf_sha256", flat=True))
        for name in set(names) - named:
            _path(name).unlink(missing_ok=True)


def sweep_papers(older_than: datetime) -> int:
    """Remove files that no row names and that are older than the moment; returns how many.

    Also what was never finished: a paper is written under another name until it is whole.
    """
    named = set(StoredPaper.objects.values_list("pdf_sha256", flat=True))
    old = [path for path in Path(settings.PAPER_DIR).glob("*.*") if _is_older(path, older_than)]
    left = [path.stem for path in old if path.suffix == ".pdf" and path.stem not in named]
    forget_papers(left)
    parts = [path for path in old if path.suffix == ".part"]
    for part in parts:
        part.unlink(missing_ok=True)
    return len(left) + len(parts)


def _is_older(path: Path, moment: datetime) -> bool:
    try:
        return path.stat().st_mtime < moment.timestamp()
    except FileNotFoundError:  # it got its own name just now
        return False


def _kept(content_sha256: str) -> bytes | None:
    row = StoredPaper.objects.filter(content_sha256=content_sha256).first()
    if row is None:
        return None
    try:
        pdf = _path(row.pdf_sha256).read_bytes()
    except OSError:
        return None
    return pdf if hashlib.sha256(pdf).hexdigest() == row.pdf_sha256 else None


def _require_no_transaction() -> None:
    # Django itself refuses a durable block inside another one, and knows the transaction around a test
    with transaction.atomic(durable=True):
        pass


def _path(name: str) -> Path:
    return Path(settings.PAPER_DIR) / f"{name}.pdf"


def _store(pdf: bytes) -> str:
    """Write the bytes under their hash; whole and on the disk, or not at all."""
    name = hashlib.sha256(pdf).hexdigest()
    target = _path(name)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=target.parent, suffix=".part", delete_on_close=False) as part:
            part.write(pdf)
            part.flush()
            os.fsync(part.fileno())
            os.replace(part.name, target)
        sync(target.parent)
    except OSError as error:
        raise RenderFailed(
            _("The paper was made but could not be kept: %(reason)s. Make room on the disk, then try again.")
            % {"reason": error.strerror}
        ) from error
    return name

"""Remembers outside the database whose data was erased, so that no older backup brings them back.

A line is the day and a seal: an HMAC, by the chain's key, over the customer's number and the first link of
the chain that tells of them. It holds no personal data, fits nobody else, and nothing without the key.
"""

import hashlib
import hmac
import json
import logging
import os
import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from django.conf import settings

from shopapp.disk import one_at_a_time, sync
from shopapp.models import Activity, Customer

NAME = "erased.jsonl"
logger = logging.getLogger("shopapp.files")
SEAL = re.compile(r"[0-9a-f]{64}")


def tombstone_file() -> Path:
    """Where this shop keeps them: beside its photos and papers."""
    return Path(settings.PHOTO_DIR).parent / NAME


def tombstone_of(customer_pk: int, *, first_link: str) -> str:
    """The seal of one customer; ``first_link``: see ``first_links``."""
    told = f"erased\ncustomer\n{customer_pk}\n{first_link}"
    return hmac.new(settings.CHAIN_KEY.encode(), told.encode(), hashlib.sha256).hexdigest()


def first_links(customer_pk: int | None = None) -> dict[int, str]:
    """Customer → the hash of the first activity that names them; of one, or of all in one query.

    With it a number that is given again, after an older backup was restored, is not taken for the old one.
    """
    prefix = f"{Customer._meta.model_name}:"
    rows = Activity.objects.filter(record__startswith=prefix)
    if customer_pk is not None:
        rows = Activity.objects.filter(record=f"{prefix}{customer_pk}")
    newest_first = rows.order_by("-seq").values_list("record", "chain_hash")
    return {int(record.partition(":")[2]): link for record, link in newest_first.iterator(chunk_size=2000)}


def write_tombstone(customer_pk: int, *, day: date) -> None:
    """Put a customer's tombstone onto the disk; it is there, for good, when this returns. Repeating is safe.

    Also into the folder of backups, which may lie on another disk: the newest backup may be a day old.
    """
    seal = tombstone_of(customer_pk, first_link=first_links(customer_pk).get(customer_pk, ""))
    line = json.dumps({"day": day.isoformat(), "seal": seal}, sort_keys=True)
    add_lines(tombstone_file(), [line])
    try:
        add_lines(Path(settings.BACKUP_DIR) / NAME, [line])
    except OSError as error:
        # the disk of the backups may be unplugged; the next backup brings the line along
        logger.warning("the folder of backups took no tombstone: %s", error)


def add_lines(path: Path, lines: Iterable[str]) -> None:
    """Append those lines that are not there yet, and sync. What a power cut tore stays a line of its own."""
    # not the lock of the folder of backups: a backup holds that one for minutes
    with one_at_a_time(tombstone_file().parent):
        path.parent.mkdir(parents=True, exist_ok=True)
        known = set(lines_of(path))
        new = [line for line in dict.fromkeys(lines) if line not in known]
        if not new:
            return
        is_new = not path.exists()
        with path.open("ab") as file:
            if not is_new and not path.read_bytes().endswith(b"\n"):
                file.write(b"\n")
            file.write("".join(f"{line}\n" for line in new).encode())
            file.flush()
            os.fsync(file.fileno())
        sync(path.parent)


def lines_of(path: Path) -> list[str]:
    """The whole lines of a file of tombstones; none where there is no file."""
    if not path.exists():
        return []
    return [line for line in path.read_text(encoding="utf-8", errors="replace").split("\n") if _seal(line)]


def _seal(line: str) -> str:
    try:
        said = json.loads(line)
    except ValueError:
        return ""
    seal = said.get("seal") if isinstance(said, dict) else None
    return seal if isinstance(seal, str) and SEAL.fullmatch(seal) else ""


def unfinished() -> tuple[int, ...]:
    """Customers who have a tombstone and are not erased: after a power cut, or in an older backup."""
    seals = {_seal(line) for line in lines_of(tombstone_file())}
    if not seals:
        return ()
    links = first_links()
    here = Customer.objects.filter(erased_at=None).order_by("pk").values_list("pk", flat=True)
    return tuple(pk for pk in here if tombstone_of(pk, first_link=links.get(pk, "")) in seals)

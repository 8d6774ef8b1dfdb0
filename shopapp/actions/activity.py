"""Writes the activity chain: one global sequence, each link hashed with the one before."""

import hashlib
import hmac
import json
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.db import models
from django.utils.translation import gettext as _

from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, ActivityHead, WorkOrder

FIRST_LINK = "0" * 64
_WAITED = timedelta(minutes=1)
Payload = Mapping[str, str | int | bool | None]


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What is to be remembered: a verb of the counter, the record, and the facts."""

    verb: str
    record: models.Model
    facts: Payload = field(default_factory=dict)
    work_order: WorkOrder | None = None


def record(entries: Sequence[Entry], *, by: Actor) -> None:
    """Append entries to the chain. Call it last in an action: it locks the head row, which all share.

    A clock that went back does not stop the sequence: the entry keeps the actor's time and carries the fact
    ``clock_went_back``. Up to a minute before the last entry is no sign of it: the actor's time is taken
    before the wait for other people's writes. What a tablet sends later stands at the time of its receipt.
    """
    head = _locked_head()
    last = Activity.objects.filter(seq=head.seq).values_list("happened_at", flat=True).first()
    for entry in entries:
        row = _link(
            entry, by=by, head=head, is_clock_back=last is not None and by.recorded_at < last - _WAITED
        )
        head.seq, head.chain_hash = row.seq, row.chain_hash
    head.save(update_fields=["seq", "chain_hash"])


def _locked_head() -> ActivityHead:
    head = locked(ActivityHead.objects.filter(pk=1)).first()
    if head is not None:
        return head
    ActivityHead.objects.bulk_create([ActivityHead(pk=1, chain_hash=FIRST_LINK)], ignore_conflicts=True)
    return locked(ActivityHead.objects.filter(pk=1)).get()


def _link(entry: Entry, *, by: Actor, head: ActivityHead, is_clock_back: bool) -> Activity:
    facts = dict(entry.facts) | ({"clock_went_back": True} if is_clock_back else {})
    payload = json.dumps(facts, sort_keys=True, ensure_ascii=False)
    salt = secrets.token_hex(16)
    row = Activity(
        seq=head.seq + 1,
        happened_at=by.recorded_at,
        actor=by.reference,
        actor_name=by.name,
        scope=by.scope,
        verb=entry.verb,
        record=reference(entry.record),
        work_order=entry.work_order,
        salt=salt,
        payload=payload,
        payload_sha256=payload_digest(salt, payload),
    )
    row.chain_hash = link_hash(row, head.chain_hash)
    row.save(force_insert=True)
    return row


def reference(row: models.Model) -> str:
    """``workorder:12`` for a row."""
    return f"{row._meta.model_name}:{row.pk}"


def payload_digest(salt: str, payload: str) -> str:
    """SHA-256 of salt and payload: it stays when both are erased."""
    return hashlib.sha256(f"{salt}\n{payload}".encode()).hexdigest()


def link_hash(row: Activity, previous: str) -> str:
    """HMAC-SHA-256 over the link before, and all of the row but the facts, which count by their digest."""
    moment = row.happened_at.astimezone(UTC).isoformat(timespec="microseconds")
    who = (row.actor, row.actor_name, row.scope)
    what = (row.verb, row.record, row.work_order_id, row.payload_sha256)
    text = json.dumps((previous, row.seq, moment, *who, *what), ensure_ascii=False)
    return hmac.new(settings.CHAIN_KEY.encode(), text.encode(), hashlib.sha256).hexdigest()


def first_bad_link() -> str | None:
    """Walk the chain in batches; the sentence names the first row that is wrong, or ``None``.

    Nothing is locked. The head is read before the rows: where they reach beyond it, somebody wrote meanwhile,
    and the walk goes on from there with the head as it is then. A tail that was cut off together with the
    head's row shows only against a head that was noted outside the database (see ``holds``).
    """
    seq, previous = 0, FIRST_LINK
    while True:
        begun_at, head = seq, ActivityHead.objects.filter(pk=1).first()
        rows = Activity.objects.filter(seq__gt=seq) if seq else Activity.objects.all()
        for row in rows.order_by("seq").iterator(chunk_size=1000):
            if (fault := _fault_of(row, expected=seq + 1, previous=previous)) is not None:
                return fault
            seq, previous = row.seq, row.chain_hash
        if seq == begun_at or (head is not None and head.seq >= seq):
            return _fault_of_end(head, seq=seq, chain_hash=previous)


def _fault_of(row: Activity, *, expected: int, previous: str) -> str | None:
    if row.seq != expected:
        return f"Activity {expected} is missing: the next row there is has number {row.seq}."
    named = f"Activity {row.seq} ({row.verb} {row.record})"
    if (row.payload is None) != (row.salt is None):
        return f"{named} is only half erased."
    if row.payload is not None and payload_digest(str(row.salt), row.payload) != row.payload_sha256:
        return f"{named} has facts that were changed."
    if not hmac.compare_digest(link_hash(row, previous), row.chain_hash):
        return f"{named} does not fit the link before it."
    return None


def _fault_of_end(head: ActivityHead | None, *, seq: int, chain_hash: str) -> str | None:
    ends = f"The chain ends at activity {seq}"
    if head is None:
        return f"{ends}, but it has no head." if seq else None
    if head.seq != seq:
        return f"{ends}, but its head says {head.seq}."
    return None if head.chain_hash == chain_hash else f"{ends}, but its head holds another hash."


def head_text() -> str:
    """``SEQ:HASH`` of the newest link, to be noted outside the database; number 0 before the first."""
    head = ActivityHead.objects.filter(pk=1).first()
    return f"{head.seq}:{head.chain_hash}" if head is not None else f"0:{FIRST_LINK}"


def holds(noted: str) -> bool:
    """Whether a link noted earlier as ``SEQ:HASH`` is still in the chain. Raises BadInput for other text."""
    seq, _colon, chain_hash = noted.partition(":")
    if not seq.isascii() or not seq.isdigit() or len(seq) > 18 or len(chain_hash) != len(FIRST_LINK):
        raise BadInput("noted link", noted, _("a number, a colon and 64 hexadecimal digits"))
    if int(seq) == 0:
        return chain_hash == FIRST_LINK
    return Activity.objects.filter(seq=int(seq), chain_hash=chain_hash).exists()


def latest_moment() -> datetime | None:
    """When the newest entry happened, for the warning about a clock set back."""
    return Activity.objects.order_by("-seq").values_list("happened_at", flat=True).first()

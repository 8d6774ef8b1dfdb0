"""Entries of tablets: who wrote one and when, what the desk has to look at, and which are missing."""

import hashlib
import hmac
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from uuid import UUID

from django.conf import settings
from django.db.models import F, QuerySet
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.tablet_times import TabletTime, happened
from shopapp.models import KEY_HOURS, Device, Person, TabletEntry, TabletKey
from shopapp.queries.devices import at_the_bench

_SALT = "shopapp.tablet-key"


@dataclass(frozen=True, kw_only=True)
class Written:
    """What stands in the text of an entry, once it can be read; `content` are the fields of its kind."""

    id: UUID
    device: int
    sequence: int
    person: int | None
    key: UUID | None
    kind: str
    job: int | None
    at: datetime
    ahead: timedelta | None
    content: dict[str, str]


@dataclass(frozen=True, kw_only=True)
class Sent:
    """An entry on its way: its exact text, the signature, when the tablet sent it, and what can be read."""

    text: str
    signature: str
    sent_at: datetime
    written: Written | None

    @property
    def text_sha256(self) -> str:
        """By which the same entry is known however often it comes."""
        return hashlib.sha256(self.text.encode()).hexdigest()


@dataclass(frozen=True, kw_only=True)
class Known:
    """Who wrote it (with the rights of the bench) and when it happened; or why a person has to look at it."""

    person: Person | None
    at: datetime
    doubt: str


def key_secret(key_id: UUID, *, secret_key: str | bytes = "") -> bytes:
    """The 32 bytes that a key signs with; they follow from its id and the shop's secret, and lie nowhere."""
    return salted_hmac(_SALT, key_id.hex, secret=secret_key or None, algorithm="sha256").digest()


def signature_of(text: str, *, secret: bytes) -> str:
    """HMAC-SHA-256 over the exact text (RFC 2104), in hexadecimal."""
    return hmac.new(secret, text.encode(), hashlib.sha256).hexdigest()


def known(sent: Sent, *, device: Device, received_at: datetime) -> Known:
    """Who and when, and the first doubt there is. Three queries at most."""
    written = sent.written
    if written is None:
        return Known(person=None, at=received_at, doubt=_("The tablet sent something that can't be read."))
    told = TabletTime(at=written.at, ahead=written.ahead, sent_at=sent.sent_at)
    when = happened(told, enrolled_at=device.enrolled_at, received_at=received_at)
    signer = _signer(sent, written)
    person = signer.key.person if signer.key is not None else None
    doubt = (
        signer.doubt
        or _doubt_of_tablet(written, device=device)
        or _doubt_of_person(signer.key, at=when.at)
        or (_doubt_of_clock(when.off) if when.is_doubtful else "")
    )
    return Known(person=at_the_bench(person) if person is not None else None, at=when.at, doubt=doubt)


@dataclass(frozen=True, kw_only=True)
class _Signer:
    key: TabletKey | None
    doubt: str


def _signer(sent: Sent, written: Written) -> _Signer:
    """The key that signed the text, if it did."""
    if written.key is None:
        said = written.content.get("said_name", "").strip()[:80]
        unsaid = _("somebody who gave no name")
        return _Signer(key=None, doubt=_("No PIN was given for it: %s.") % (said or unsaid))
    key = TabletKey.objects.select_related("person__pin").filter(pk=written.key).first()
    if (
        key is None
        or not _is_signed(sent)
        or (key.person_id, key.device_id)
        != (
            written.person,
            written.device,
        )
    ):
        return _Signer(key=None, doubt=_("Its signature does not fit: it is not sure who wrote it."))
    return _Signer(key=key, doubt="")


def _is_signed(sent: Sent) -> bool:
    if sent.written is None or sent.written.key is None:
        return False
    return any(
        hmac.compare_digest(
            signature_of(sent.text, secret=key_secret(sent.written.key, secret_key=secret)),
            sent.signature,
        )
        for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)
    )


def _doubt_of_tablet(written: Written, *, device: Device) -> str:
    if written.device == device.pk:
        return ""
    return _("It was written on another tablet, or before this one was enrolled anew.")


def _doubt_of_person(key: TabletKey | None, *, at: datetime) -> str:
    if key is None:
        return ""
    person, pin = key.person, getattr(key.person, "pin", None)
    if not person.is_active or not access.is_staff_member(person):
        return _("%s no longer works here.") % person.name
    if pin is None or key.issued_at < pin.set_at <= at:
        return _("The PIN of %s was changed before this was written.") % person.name
    if at > key.issued_at + timedelta(hours=KEY_HOURS):
        return _("It was written more than %(hours)s hours after %(who)s gave the PIN.") % {
            "hours": KEY_HOURS,
            "who": person.name,
        }
    return ""


def _doubt_of_clock(off: timedelta) -> str:
    minutes = -(-int(off.total_seconds()) // 60)
    return _("The tablet's clock was off by %s minutes: it is not sure when this happened.") % minutes


def missing_of(sequences: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """Which numbers are missing below the highest of a tablet, as (first, last) of each gap.

    For example 1, 2, 5, 9 → (3, 4), (6, 8).
    """
    numbers = sorted({0, *sequences})
    return tuple((before + 1, after - 1) for before, after in pairwise(numbers) if after > before + 1)


def same_mark(entry_id: UUID) -> TabletEntry | None:
    """The entry that has this id, if it came already. One query."""
    return TabletEntry.objects.filter(entry_id=entry_id).first()


def with_gaps() -> QuerySet[Device]:
    """Tablets of whose numbered entries some have not come, more than the desk knows of."""
    return Device.objects.filter(last_sequence__gt=F("sequences_here") + F("gaps_known"))

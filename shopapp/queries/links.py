"""Customers' links: which door a token opens, if any."""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from shopapp.models import Approval, CustomerLink, QuoteRevision, RevisionState


class DoorState(StrEnum):
    """What a customer finds behind the link."""

    OPEN = "open"
    ANSWERED = "answered"
    REPLACED = "replaced"


@dataclass(frozen=True, kw_only=True)
class Door:
    """A link that still leads somewhere, with its revision."""

    link: CustomerLink
    revision: QuoteRevision
    state: DoorState


def token_digest(token: str) -> str:
    """What is kept of a token: its SHA-256 in hexadecimal."""
    return hashlib.sha256(token.encode()).hexdigest()


def door(token: str, *, at: datetime) -> Door | None:
    """What the token opens at that moment; ``None`` for unknown, expired and revoked links alike.

    A link that was revoked by the very answer it gave still shows that answer until it expires; one that was
    revoked when the shop took the quote back still shows that a newer one replaces it. Two queries at most.
    """
    link = (
        CustomerLink.objects.select_related("revision__quote__work_order", "revision__approval", "created_by")
        .filter(token_sha256=token_digest(token), expires_at__gt=at)
        .first()
    )
    if link is None or link.revision is None:
        return None
    state = _state(link, revision=link.revision)
    return Door(link=link, revision=link.revision, state=state) if state is not None else None


def _state(link: CustomerLink, *, revision: QuoteRevision) -> DoorState | None:
    if link.revoked_at is None:
        return DoorState.OPEN if revision.state == RevisionState.SENT else None
    answer: Approval | None = getattr(revision, "approval", None)
    if answer is not None:
        # one that was told by telephone was written down later, which is when the doors were shut
        written_at = answer.recorded_at or answer.decided_at
        return DoorState.ANSWERED if written_at == link.revoked_at else None
    return DoorState.REPLACED if _was_replaced(revision, at=link.revoked_at) else None


def _was_replaced(revision: QuoteRevision, *, at: datetime) -> bool:
    return (
        revision.state == RevisionState.REPLACED
        and QuoteRevision.objects.filter(quote=revision.quote_id, created_at=at).exists()
    )

"""Customers' links to the terms of an intake: which of them a token opens, if any."""

from dataclasses import dataclass
from datetime import datetime

from shopapp.models import CustomerLink, Intake
from shopapp.queries.links import token_digest


@dataclass(frozen=True, kw_only=True)
class IntakeDoor:
    """A link that still leads somewhere, with its intake."""

    link: CustomerLink
    intake: Intake
    is_signed: bool


def intake_door(token: str, *, at: datetime) -> IntakeDoor | None:
    """What the token opens at that moment; ``None`` for unknown, expired, revoked and other documents alike.

    A link that was shut by the very signature it gave still shows what was signed until it expires. One
    query.
    """
    link = (
        CustomerLink.objects.select_related("intake__work_order", "intake__witness", "created_by")
        .filter(token_sha256=token_digest(token), expires_at__gt=at)
        .first()
    )
    if link is None or link.intake is None:
        return None
    if link.intake.signed_at is None:
        is_open = link.revoked_at is None
        return IntakeDoor(link=link, intake=link.intake, is_signed=False) if is_open else None
    is_its_own = link.revoked_at == link.intake.signed_at
    return IntakeDoor(link=link, intake=link.intake, is_signed=True) if is_its_own else None

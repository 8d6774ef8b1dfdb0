"""Remembers the key of a request, so that a repeated send is answered and not repeated.

Locks in order: key, record, stock item, series, chain head; see ``once`` for a second sender and a stop.
"""

import uuid
from collections.abc import Callable
from dataclasses import dataclass

from django.conf import settings
from django.db import OperationalError, connection, transaction
from django.utils.translation import gettext as _

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import Busy
from shopapp.calc.errors import BadInput
from shopapp.models import RequestKey


@dataclass(frozen=True, kw_only=True)
class Request:
    """What identifies one send: its key, where it went, and the hash of what it carried."""

    key: uuid.UUID
    route: str
    payload_sha256: str


def once(request: Request, effect: Callable[[], str], *, by: Actor) -> str:
    """Run ``effect`` at most once for this key; returns the address to go to, stored or fresh.

    Locks the key first, then what the effect locks. A second sender with the same key waits for the first
    (by SQLite's write lock, or by PostgreSQL's unique index) and then gets the stored outcome. If the effect
    is refused its transaction rolls back and the key is free again. If the power fails before the commit
    nothing has happened and the key is free; after it, the retry gets the outcome.
    Raises BadInput when the key was used for something else, Busy when the wait for a lock runs out: of the
    first send, or of other people's work on the same record. SQLite can't tell them apart, so the sentence
    is true for both; sending the same form again is safe either way.
    """
    claim = uuid.uuid4()
    try:
        with transaction.atomic():
            _bound_the_wait()
            mine = _claimed(request, claim, by)
            if mine.claim != claim:
                return _stored(mine, request, by)
            mine.location = effect()
            mine.save(update_fields=["location"])
            return mine.location
    except OperationalError as error:
        if "lock" in str(error).lower():
            raise Busy(
                _("Something else is just being saved and took too long. Wait a moment, then send it again.")
            ) from error
        raise


def _bound_the_wait() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"SET LOCAL lock_timeout = '{round(settings.LOCK_WAIT_SECONDS * 1000)}ms'")


def _claimed(request: Request, claim: uuid.UUID, by: Actor) -> RequestKey:
    row = RequestKey(
        key=request.key,
        claim=claim,
        actor=by.reference,
        route=request.route,
        payload_sha256=request.payload_sha256,
        created_at=by.at,
    )
    RequestKey.objects.bulk_create([row], ignore_conflicts=True)
    return RequestKey.objects.get(key=request.key)


def _stored(row: RequestKey, request: Request, by: Actor) -> str:
    sent = (by.reference, request.route, request.payload_sha256)
    if sent != (row.actor, row.route, row.payload_sha256):
        raise BadInput(
            "request key",
            row.key,
            _("the key of a freshly opened page: this one was sent with other content"),
        )
    return row.location

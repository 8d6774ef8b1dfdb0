"""Where browsers are remembered: who is signed in, since when, from where; and when that ends by itself.

A row ends an hour after the last request and, for a person, fourteen hours after the sign-in (see settings).
"""

import hashlib
import logging
from datetime import datetime, timedelta
from typing import Any, cast

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.db import OperationalError
from django.http import HttpRequest
from django.utils import timezone

from shopapp.models import BrowserSession

logger = logging.getLogger("shopapp.access")

# what is written of a sign-in: since when, from where, in which browser
SIGNED_IN = "signed_in"
# a page a minute is not worth a write: so the idle limit may come as much earlier
SEEN_EVERY = timedelta(minutes=1)


def code_of(session_key: str | None) -> str:
    """The name of a session in addresses; nobody gets from it to the key."""
    return hashlib.sha256((session_key or "").encode()).hexdigest()[:32]


class SessionStore(DatabaseStore):
    """Django's store in the database, in a table that knows the person and both limits."""

    seen_at: datetime | None = None

    @classmethod
    def get_model_class(cls) -> type[BrowserSession]:
        return BrowserSession

    def load(self) -> dict[str, Any]:
        rows = BrowserSession.objects.filter(session_key=self.session_key, expire_date__gt=timezone.now())
        row = rows.first()
        if row is None:
            self._session_key = None
            return {}
        self.seen_at = row.seen_at
        return self.decode(row.session_data)

    def create_model_instance(self, data: dict[str, Any]) -> BrowserSession:
        now = timezone.now()
        told = data.setdefault(SIGNED_IN, _signed_in(at=now)) if SESSION_KEY in data else {}
        row = cast("BrowserSession", super().create_model_instance(data))
        row.code = code_of(row.session_key)
        row.person_id = int(data[SESSION_KEY]) if SESSION_KEY in data else None
        row.started_at = datetime.fromisoformat(told["at"]) if told else None
        row.address, row.browser = told.get("address", ""), told.get("browser", "")
        row.seen_at, row.expire_date = now, _end(now, started_at=row.started_at)
        return row

    def touch(self) -> None:
        """Write that the browser was seen, at most once a minute; a full disk doesn't stop who only reads."""
        now = timezone.now()
        if self.seen_at is None or now - self.seen_at < SEEN_EVERY:
            return
        told = self.get(SIGNED_IN)
        started_at = datetime.fromisoformat(told["at"]) if told else None
        try:
            BrowserSession.objects.filter(session_key=self.session_key).update(
                seen_at=now, expire_date=_end(now, started_at=started_at)
            )
        except OperationalError as error:
            logger.warning("could not write when a browser was last seen: %s", error)


def begin(request: HttpRequest) -> None:
    """Write down since when and from where the browser is signed in; call it right after the sign-in."""
    request.session[SIGNED_IN] = _signed_in(
        at=timezone.now(),
        address=request.META.get("REMOTE_ADDR") or "",
        browser=request.headers.get("User-Agent", ""),
    )


def _signed_in(*, at: datetime, address: str = "", browser: str = "") -> dict[str, str]:
    return {"at": at.isoformat(), "address": address[:64], "browser": browser[:300]}


def _end(now: datetime, *, started_at: datetime | None) -> datetime:
    longest = timedelta(seconds=settings.SESSION_COOKIE_AGE)
    if started_at is None:
        # opens nothing by itself: a tablet's turn and the way to the second step have limits of their own
        return now + longest
    return min(now + timedelta(seconds=settings.SESSION_IDLE_SECONDS), started_at + longest)

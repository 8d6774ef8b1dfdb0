"""Who is at the door: the name they give, from where, and whether that person signed in here before.

A signed cookie of this room remembers the last people of a browser: so nobody elsewhere can lock them out.
"""

import hashlib
import secrets
from datetime import timedelta

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import ngettext

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.sign_ins import Knock

COOKIE = "__Secure-known" if settings.HTTPS else "known"
SALT = "shopapp.known-browser"
PATH = "/people/"
LASTS = timedelta(days=365)
_MOST_PEOPLE = 10


def knock_of(request: HttpRequest, name: str) -> Knock:
    """The knock of a request with this name."""
    lot, names = _known(request)
    is_known = _short(name) in names
    return Knock(
        name=name, address=request.META.get("REMOTE_ADDR") or "", known=f"{lot} {name}" if is_known else ""
    )


def nobody_yet() -> Actor:
    """Who acts before anybody is signed in."""
    return Actor(scope=Scope.SYSTEM, at=timezone.now())


def remember(request: HttpRequest, response: HttpResponse, name: str) -> None:
    """Remember that this person signed in here."""
    lot, names = _known(request)
    others = [one for one in names if one != _short(name)]
    response.set_signed_cookie(
        COOKIE,
        ".".join([lot or secrets.token_hex(16), _short(name), *others[: _MOST_PEOPLE - 1]]),
        salt=SALT,
        max_age=LASTS,
        path=PATH,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )


def wait_sentence(wait: timedelta) -> str:
    """How long to wait, in words."""
    minutes = max(1, -(-int(wait.total_seconds()) // 60))
    text = ngettext(
        "There were too many wrong tries. Wait %(minutes)d minute, then try again.",
        "There were too many wrong tries. Wait %(minutes)d minutes, then try again.",
        minutes,
    )
    return text % {"minutes": minutes}


def _known(request: HttpRequest) -> tuple[str, list[str]]:
    text = str(request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=LASTS))
    lot, *names = text.split(".")
    return lot, names


def _short(name: str) -> str:
    return hashlib.sha256(name.encode(errors="replace")).hexdigest()[:16]

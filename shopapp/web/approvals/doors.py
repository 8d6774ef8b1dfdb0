"""The customer's door: a signed cookie of this room alone, never the session of a person of the shop."""

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.misses import note_miss
from shopapp.queries.links import door
from shopapp.web.shared.customer_door import COOKIE, PATH

SALT = "shopapp.customer-link"

type View = Callable[..., HttpResponse]


def private(view: View) -> View:
    """Nothing of an answer is kept, indexed, or told to where the customer goes next."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cache-Control"] = "no-store"
        response.headers["X-Robots-Tag"] = "noindex"
        return response

    return guarded


def behind_door(view: View) -> View:
    """Only with a link that leads somewhere; everything else gets one and the same page."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        token = request.get_signed_cookie(COOKIE, default="", salt=SALT)
        found = door(str(token), at=timezone.now()) if token else None
        return nothing_here(request) if found is None else view(request, found, *args, **kwargs)

    return guarded


def nobody_in(request: HttpRequest) -> HttpResponse:
    """The answer to a link that leads nowhere: counted, and turned away when there were too many."""
    by = Actor(scope=Scope.SYSTEM, at=timezone.now())
    is_too_many = note_miss(request.META.get("REMOTE_ADDR") or "", by=by)
    return nothing_here(request, status=429 if is_too_many else 404)


def nothing_here(request: HttpRequest, *, status: int = 404) -> HttpResponse:
    """The same answer for unknown, expired and revoked, to the byte: its page holds nothing drawn by lot."""
    context = {"page": None, "csrf_token": "", "csp_nonce": ""}
    response = render(request, "approvals/nothing_here.html", context, status=status)
    # Django would write the address into its log, and with it a token
    response._has_been_logged = True  # type: ignore[attr-defined]
    return response


def keep_door(response: HttpResponse, token: str, *, until: datetime, at: datetime) -> None:
    """Put the token into the room's cookie for as long as the link lasts."""
    response.set_signed_cookie(
        COOKIE,
        token,
        salt=SALT,
        max_age=int((until - at).total_seconds()),
        path=PATH,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )

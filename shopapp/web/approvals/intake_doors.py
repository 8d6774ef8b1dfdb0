"""The customer's door to the terms of an intake, by the same cookie as the door to a quote."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from shopapp.queries.intake_links import intake_door
from shopapp.web.approvals.doors import SALT, nothing_here
from shopapp.web.shared.customer_door import COOKIE

type View = Callable[..., HttpResponse]


def behind_intake_door(view: View) -> View:
    """Only with a link to an intake that leads somewhere; everything else gets one and the same page."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        token = request.get_signed_cookie(COOKIE, default="", salt=SALT)
        found = intake_door(str(token), at=timezone.now()) if token else None
        return nothing_here(request) if found is None else view(request, found, *args, **kwargs)

    return guarded

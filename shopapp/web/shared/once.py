"""Sends a form's effect through the request key that the server put into the form."""

import hashlib
import json
import uuid
from collections.abc import Callable

from django.http import HttpRequest

from shopapp.actions import once as keys
from shopapp.actions.actor import Actor
from shopapp.actions.parking import forget_parked
from shopapp.calc.errors import BadInput
from shopapp.web.shared.parking import parked_number
from shopapp.web.shared.tablets import PIN_FIELD

# a PIN among them would be guessed from the hash
_NOT_CONTENT = ("csrfmiddlewaretoken", "once_key", PIN_FIELD)


def once(request: HttpRequest, effect: Callable[[], str], *, by: Actor) -> str:
    """Run the effect once for this form; returns the address to go to. See ``actions.once``.

    A form that was parked is forgotten with the effect, in the same transaction.
    """
    parked = parked_number(request)

    def effect_and_forget() -> str:
        location = effect()
        if parked is not None:
            forget_parked(parked, by=by)
        return location

    return keys.once(
        keys.Request(key=_key(request), route=request.path[:200], payload_sha256=_payload(request)),
        effect_and_forget,
        by=by,
    )


def _key(request: HttpRequest) -> uuid.UUID:
    sent = request.POST.get("once_key", "")
    try:
        return uuid.UUID(sent)
    except ValueError:
        raise BadInput("request key", sent, "the key of a freshly opened page: open the page again") from None


def _payload(request: HttpRequest) -> str:
    digest = hashlib.sha256()
    for name in sorted(set(request.POST) - set(_NOT_CONTENT)):
        for value in request.POST.getlist(name):
            digest.update(_told(name, value))
    for name in sorted(request.FILES):
        for upload in request.FILES.getlist(name):
            digest.update(_told(name, upload.name, upload.size))
            for chunk in upload.chunks():
                digest.update(chunk)
            upload.seek(0)
    return digest.hexdigest()


def _told(*parts: object) -> bytes:
    """Quoted, so that no content can pass for another by holding the marks between the parts."""
    return json.dumps(parts).encode()

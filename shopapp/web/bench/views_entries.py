"""What a tablet sends and asks by itself: entries and photos, the server's time, the key of who is there."""

import base64
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate

from django.contrib.auth.decorators import login_not_required
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp.actions.dock_answers import DockAnswerInput
from shopapp.actions.entries import Wanted, issue_key, take_entry
from shopapp.actions.photos import PhotoInput
from shopapp.calc.errors import BadInput
from shopapp.context import locale_of
from shopapp.files.photos import store_photo
from shopapp.models import Device, EntryState, TabletEntry
from shopapp.queries.dock_calls import dock_call_of
from shopapp.queries.entries import Sent, key_secret
from shopapp.queries.entry_texts import read_entry, read_moment, require_text
from shopapp.web.bench.kinds import form_of, wanted_by
from shopapp.web.shared.refusals import bad_input_page
from shopapp.web.shared.signed_in import StaffRequest, actor_of, today_of
from shopapp.web.shared.tablets import stay_here, tablet_actor, tablet_here

MOST_AT_ONCE = 50
# by which a tablet knows a true answer from a page that came instead
MARK = "X-Shopapp-Entries"


def from_tablet[**P](
    view: Callable[Concatenate[HttpRequest, Device, P], HttpResponse],
) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Only for an enrolled tablet, whoever is at it; any other browser gets 401 and nothing else."""

    @wraps(view)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        tablet = tablet_here(request)
        if tablet is None:
            return JsonResponse({"sentence": _("This browser is not an enrolled tablet.")}, status=401)
        return view(request, tablet, *args, **kwargs)

    return login_not_required(guarded)


@from_tablet
@require_safe
def state(request: HttpRequest, tablet: Device) -> HttpResponse:
    """The server's time, a token for the next send, and who is at the tablet just now."""
    stay = stay_here(request)
    here = {"pk": stay.person.pk, "name": stay.person.name} if stay and not stay.is_locked else None
    # where a tablet whose storage was cleared goes on counting
    told = {"csrf": get_token(request), "sequence": tablet.last_sequence, "open_person": here}
    # what is not named here any more is wiped
    told |= {"dock_call": dock_call_of(tablet, day=today_of(request))}
    return _told(told | {"device": tablet.pk, "device_name": tablet.name})


@require_POST
def key(request: StaffRequest) -> HttpResponse:
    """The key of who gave their PIN here; the middleware lets nobody else to this page."""
    by = actor_of(request)
    row = issue_key(by=by)
    secret = base64.b64encode(key_secret(row.pk)).decode()
    name = by.person.name if by.person is not None else ""
    told = {"key": str(row.pk), "secret": secret, "person": row.person_id, "name": name}
    return _told(told | {"device": row.device_id, "issued_at": row.issued_at.isoformat()})


@from_tablet
@require_POST
def entries(request: HttpRequest, tablet: Device) -> HttpResponse:
    try:
        sent_at, coming = _read_request(request)
    except (ValueError, KeyError, TypeError, RecursionError):
        return bad_input_page(request, _not_entries())
    locale = locale_of(request)
    by = tablet_actor(tablet)
    taken = []
    for text, signature in coming:
        sent = _sent(text, signature=signature, sent_at=sent_at)
        wanted = _from_here(wanted_by(sent.written, locale=locale), request)
        taken.append((sent, take_entry(sent, wanted, by=replace(by, at=timezone.now()))))
    return _answered(taken)


@from_tablet
@require_POST
def photo(request: HttpRequest, tablet: Device) -> HttpResponse:
    """One entry with its picture, which is made and synced to disk before the transaction begins."""
    upload = request.FILES.get("photo")
    text = request.POST.get("text", "")
    try:
        sent_at = read_moment(request.POST.get("sent_at"))
    except ValueError:
        upload = None
    if upload is None or not text:
        return bad_input_page(request, _not_entries())
    sent = _sent(text, signature=request.POST.get("signature", ""), sent_at=sent_at)
    wanted = _photo_wanted(sent, upload, locale=locale_of(request))
    return _answered([(sent, take_entry(sent, wanted, by=tablet_actor(tablet)))])


def _photo_wanted(sent: Sent, upload: UploadedFile[Any], *, locale: str) -> Wanted:
    form = form_of(sent.written, locale=locale) if sent.written is not None else None
    if form is None or form.kind != "photo" or not form.is_valid():
        return Wanted(problem=_("A picture came with something that is no entry of a photo."))
    try:
        stored = store_photo(upload, name=upload.name or "")
    except BadInput as refusal:
        return Wanted(problem=refusal.sentence)
    return Wanted(deed=PhotoInput(stored=stored, caption=form.cleaned_data["caption"]))


def _read_request(request: HttpRequest) -> tuple[datetime, Sequence[tuple[str, str]]]:
    """When it was sent, and each entry's text with its signature. Raises ValueError and the like."""
    if request.content_type != "application/json":
        raise ValueError(request.content_type)
    told = json.loads(request.body)
    coming = [(one["text"], one["signature"]) for one in told["entries"]]
    if not 0 < len(coming) <= MOST_AT_ONCE:
        raise ValueError(len(coming))
    for one in coming:
        for text in one:
            require_text(text)
    return read_moment(told["sent_at"]), coming


def _from_here(wanted: Wanted, request: HttpRequest) -> Wanted:
    """With a signature the place it came from is kept, as with one at the counter."""
    if not isinstance(wanted.deed, DockAnswerInput):
        return wanted
    address, browser = request.META.get("REMOTE_ADDR") or None, request.headers.get("User-Agent", "")
    return Wanted(deed=replace(wanted.deed, address=address, browser=browser))


def _sent(text: str, *, signature: str, sent_at: datetime) -> Sent:
    return Sent(text=text, signature=signature, sent_at=sent_at, written=read_entry(text))


def _not_entries() -> BadInput:
    return BadInput(_("entries"), "", _("1 to %s entries of a tablet, as its page sends them") % MOST_AT_ONCE)


def _answered(taken: Sequence[tuple[Sent, TabletEntry]]) -> HttpResponse:
    return _told({"entries": [_outcome(sent, row) for sent, row in taken]}, headers={MARK: "1"})


def _outcome(sent: Sent, row: TabletEntry) -> dict[str, Any]:
    """What the tablet is told, under the id that it gave; a technician reads it, so it holds no amounts."""
    is_kept = row.state == EntryState.REVIEW
    return {
        "id": str(sent.written.id) if sent.written is not None else None,
        "outcome": "review" if is_kept else "stored",
        "reason": row.reason if is_kept else "",
        "row": row.row,
    }


def _told(told: dict[str, Any], *, headers: dict[str, str] | None = None) -> HttpResponse:
    return JsonResponse({**told, "now": timezone.now().isoformat()}, headers=headers)

"""The customer's own pages: enter by a link, read, choose, sign; afterwards what was agreed."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from shopapp.actions import approvals
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.refusals import Refused
from shopapp.documents.approvals import approval_pdf
from shopapp.documents.quotes import NotAsShown, quote_pdf, verified_approval, verified_content
from shopapp.documents.renderer import RenderFailed
from shopapp.files.photos import photo_path, read_photo
from shopapp.models import LinkPurpose
from shopapp.queries.customer_quotes import CustomerPage, customer_page, shown_photos
from shopapp.queries.links import Door, DoorState, door
from shopapp.queries.questions import questions_of
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import Content, revision_rows, stored_content
from shopapp.queries.signed_answers import SignedAnswer, signed_answer
from shopapp.web.approvals.doors import behind_door, keep_door, nobody_in, nothing_here, private
from shopapp.web.shared.customer_door import forget_door
from shopapp.web.shared.decisions import DecisionForm
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt


@dataclass(frozen=True, kw_only=True)
class DonePage:
    """What was agreed, out of what was shown, on whose device, and until when the link shows it."""

    content: Content
    answer: SignedAnswer
    is_own_phone: bool
    shown_until: datetime


@dataclass(frozen=True, kw_only=True)
class Sentence:
    """Why something did not go through."""

    sentence: str


@login_not_required
@require_safe
@private
def enter(request: HttpRequest, token: str) -> HttpResponse:
    now = timezone.now()
    found = door(token, at=now)
    if found is None:
        return nobody_in(request)
    response = redirect("approvals:decide")
    keep_door(response, token, until=found.link.expires_at, at=now)
    return response


@sensitive_post_parameters("signed_name", "strokes")
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@private
@behind_door
def decide(request: HttpRequest, door: Door) -> HttpResponse:
    content = stored_content(door.revision)
    wish = request.POST.get("answer", "")
    if request.method == "POST" and wish in ("approve", "decline"):
        return _send(request, door, content=content, is_declined=wish == "decline")
    if door.state == DoorState.ANSWERED:
        return redirect("approvals:done")
    offers = the_shop().offers_parts_back
    sent = DecisionForm(request.POST or None, content=content, offers_parts_back=offers)
    # what was typed so far stays, but nobody is told off for what they have not come to yet
    form = DecisionForm(initial=request.POST.dict(), content=content, offers_parts_back=offers)
    page = _page(door, content=content, form=sent)
    return answer(request, "approvals/decide.html", "decision-total", {"page": page, "form": form})


def _send(request: HttpRequest, door: Door, *, content: Content, is_declined: bool) -> HttpResponse:
    form = DecisionForm(
        request.POST,
        content=content,
        is_declined=is_declined,
        offers_parts_back=the_shop().offers_parts_back,
    )
    by = Actor(scope=Scope.LINK, link=door.link, at=timezone.now())

    def effect() -> str:
        approvals.decide(door.revision.pk, _input(request, form), by=by)
        return reverse("approvals:done")

    try:
        location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    except Refused as refusal:
        return _refused(request, refusal.sentence, status=409)
    if location is not None:
        return HttpResponseRedirect(location)
    page = _page(door, content=content, form=form)
    return render(request, "approvals/decide.html", {"page": page, "form": form}, status=422)


def _input(request: HttpRequest, form: DecisionForm) -> DecisionInput:
    typed = form.cleaned_data
    return DecisionInput(
        is_declined=form.is_declined,
        chosen=form.picked(),
        signed_name=typed["signed_name"],
        strokes=typed["strokes"],
        reason=typed["reason"],
        address=request.META.get("REMOTE_ADDR") or None,
        device=request.headers.get("User-Agent", ""),
        wants_parts_back=typed.get("wants_parts_back"),
    )


def _page(door: Door, *, content: Content, form: DecisionForm) -> CustomerPage:
    page = customer_page(content, picked=form.picked(), photo_url=_photo_url, notice=_notice(door))
    return replace(page, questions=questions_of(door.revision))


def _notice(door: Door) -> str:
    if door.state == DoorState.REPLACED:
        return _("This quote was replaced by a newer one. Please ask the shop for the newer one.")
    until = door.revision.valid_until_date
    if until is not None and local_day(the_shop(), timezone.now()) > until:
        return _("The prices of this quote have run out. Please ask the shop for a new one.")
    return ""


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@private
@behind_door
def done(request: HttpRequest, door: Door) -> HttpResponse:
    if request.method == "POST":
        response = redirect("people:sign_in")
        forget_door(response)
        return response
    if door.state != DoorState.ANSWERED:
        return redirect("approvals:decide")
    revision = revision_rows(door.revision.pk)
    try:
        content, approval = verified_content(revision), verified_approval(revision)
    except NotAsShown as error:
        return _refused(request, error.sentence, status=409)
    if approval is None:
        return redirect("approvals:decide")
    page = DonePage(
        content=content,
        answer=signed_answer(approval, content=content),
        is_own_phone=door.link.purpose == LinkPurpose.PHONE,
        shown_until=door.link.expires_at,
    )
    return render(request, "approvals/done.html", {"page": page})


@login_not_required
@require_safe
@private
@behind_door
def photo(request: HttpRequest, door: Door, sha256: str) -> HttpResponse:
    if sha256 not in shown_photos(stored_content(door.revision)):
        return nothing_here(request)
    try:
        return HttpResponse(read_photo(sha256), content_type="image/webp")
    except FileNotFoundError:
        return nothing_here(request)


@login_not_required
@require_safe
@private
@behind_door
def paper(request: HttpRequest, door: Door) -> HttpResponse:
    if door.state == DoorState.REPLACED:
        return nothing_here(request)
    revision = revision_rows(door.revision.pk)
    photos = {sha256: photo_path(sha256) for sha256 in shown_photos(stored_content(revision))}
    make = partial(quote_pdf, revision, photos=photos)
    return _pdf(request, make, filename=f"{revision.quote.number}.pdf")


@login_not_required
@require_safe
@private
@behind_door
def answer_paper(request: HttpRequest, door: Door) -> HttpResponse:
    if door.state != DoorState.ANSWERED:
        return nothing_here(request)
    revision = revision_rows(door.revision.pk)
    make = partial(approval_pdf, revision)
    return _pdf(request, make, filename=f"{revision.quote.number}-answer.pdf")


def _pdf(request: HttpRequest, make: Callable[[], bytes], *, filename: str) -> HttpResponse:
    try:
        pdf = make()
    except NotAsShown as error:
        return _refused(request, error.sentence, status=409)
    except RenderFailed as error:
        return _refused(request, error.sentence, status=503)
    name = content_disposition_header(as_attachment=False, filename=filename)
    headers = {"Content-Disposition": name or "inline"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _refused(request: HttpRequest, sentence: str, *, status: int) -> HttpResponse:
    # the shop's own page for this would carry the menu of a person who is signed in in the same browser
    page = Sentence(sentence=sentence)
    return render(request, "approvals/refused.html", {"page": page}, status=status)


def _photo_url(sha256: str) -> str:
    return reverse("approvals:photo", args=[sha256])

"""The customer's own pages about an intake: enter by a link, read the terms, sign them, take a copy."""

from dataclasses import dataclass

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.intakes import sign_intake
from shopapp.actions.refusals import Refused
from shopapp.documents.canonical import canonical, digest
from shopapp.documents.intakes import intake_pdf, shown_intake
from shopapp.documents.quotes import NotAsShown
from shopapp.documents.renderer import RenderFailed
from shopapp.queries.intake_links import IntakeDoor, intake_door
from shopapp.queries.intakes import Content, Signature, TermRow, signature_of, term_rows
from shopapp.web.approvals.doors import keep_door, nobody_in, private
from shopapp.web.approvals.forms import SignForm
from shopapp.web.approvals.intake_doors import behind_intake_door
from shopapp.web.shared.customer_door import forget_door
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt


@dataclass(frozen=True, kw_only=True)
class IntakePage:
    """What the customer reads, and the signature once it is there; ``notice``: what to look at again."""

    content: Content
    terms: tuple[TermRow, ...]
    signature: Signature | None
    notice: str = ""


@dataclass(frozen=True, kw_only=True)
class Sentence:
    """Why something did not go through."""

    sentence: str
    is_about_intake: bool = True


@login_not_required
@require_safe
@private
def enter_intake(request: HttpRequest, token: str) -> HttpResponse:
    now = timezone.now()
    found = intake_door(token, at=now)
    if found is None:
        return nobody_in(request)
    response = redirect("approvals:terms")
    keep_door(response, token, until=found.link.expires_at, at=now)
    return response


@sensitive_post_parameters("signed_name", "strokes")
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@private
@behind_intake_door
def terms(request: HttpRequest, door: IntakeDoor) -> HttpResponse:
    if request.method == "POST":
        return _send(request, door)
    return redirect("approvals:signed") if door.is_signed else _terms_page(request, door)


def _send(request: HttpRequest, door: IntakeDoor) -> HttpResponse:
    form = SignForm(request.POST)
    by = Actor(scope=Scope.LINK, link=door.link, at=timezone.now())
    address = request.META.get("REMOTE_ADDR") or None

    def effect() -> str:
        data = form.as_input(address=address, device=request.headers.get("User-Agent", ""))
        sign_intake(door.intake.pk, data, by=by)
        return reverse("approvals:signed")

    try:
        location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    except Refused as refusal:
        if door.is_signed:
            return _refused(request, refusal.sentence, status=409)
        return _terms_page(request, door, notice=refusal.sentence, status=409)
    if location is not None:
        return HttpResponseRedirect(location)
    return _terms_page(request, door, form=form, status=422)


def _terms_page(
    request: HttpRequest,
    door: IntakeDoor,
    *,
    form: SignForm | None = None,
    notice: str = "",
    status: int = 200,
) -> HttpResponse:
    content = shown_intake(door.intake, at=timezone.now())
    seen = digest(canonical(content))
    if form is None:
        # what was typed stays; what was read is what this page shows
        form = SignForm(initial=request.POST.dict() | {"seen": seen})
    page = IntakePage(content=content, terms=term_rows(content), signature=None, notice=notice)
    return render(request, "approvals/terms.html", {"page": page, "form": form}, status=status)


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@private
@behind_intake_door
def signed(request: HttpRequest, door: IntakeDoor) -> HttpResponse:
    if request.method == "POST":
        response = redirect("people:sign_in")
        forget_door(response)
        return response
    if not door.is_signed:
        return redirect("approvals:terms")
    try:
        content = shown_intake(door.intake, at=timezone.now())
    except NotAsShown as error:
        return _refused(request, error.sentence, status=409)
    signature = signature_of(door.intake, content=content)
    page = IntakePage(content=content, terms=term_rows(content), signature=signature)
    return render(request, "approvals/signed.html", {"page": page})


@login_not_required
@require_safe
@private
@behind_intake_door
def intake_paper(request: HttpRequest, door: IntakeDoor) -> HttpResponse:
    try:
        pdf = intake_pdf(door.intake, at=timezone.now())
    except NotAsShown as error:
        return _refused(request, error.sentence, status=409)
    except RenderFailed as error:
        return _refused(request, error.sentence, status=503)
    filename = f"{door.intake.work_order.number} {_('intake')}.pdf"
    name = content_disposition_header(as_attachment=False, filename=filename)
    headers = {"Content-Disposition": name or "inline"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _refused(request: HttpRequest, sentence: str, *, status: int) -> HttpResponse:
    page = Sentence(sentence=sentence)
    return render(request, "approvals/refused.html", {"page": page}, status=status)

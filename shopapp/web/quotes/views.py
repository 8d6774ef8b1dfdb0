"""Writing a quote: begun, options and lines, seen as the customer will, sent, handed over, printed."""

from dataclasses import dataclass

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.messages import get_messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions import links, quotes
from shopapp.actions.refusals import Refused, Stale
from shopapp.calc import break_evens
from shopapp.calc.errors import BadInput
from shopapp.context import locale_of
from shopapp.documents.canonical import canonical, digest
from shopapp.documents.quotes import NotAsShown, quote_pdf
from shopapp.documents.renderer import RenderFailed
from shopapp.files.photos import photo_path
from shopapp.models import UNSENT, QuoteRevision, RevisionState
from shopapp.queries.answering import Answering, answering
from shopapp.queries.compare_pages import is_compared
from shopapp.queries.customer_quotes import CustomerPage, customer_page, photo_pks, shown_photos
from shopapp.queries.quotes import builder_page
from shopapp.queries.shown import Content, draft_content, revision_rows, stored_content
from shopapp.queries.signed_answers import SignedAnswer, answer_to, picks_of
from shopapp.web.quotes.cards import job_cards
from shopapp.web.quotes.forms import SendForm, chosen_jobs
from shopapp.web.shared.decisions import DecisionForm
from shopapp.web.shared.forms import VersionedForm
from shopapp.web.shared.htmx import wants_part
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row, find_work_order


@dataclass(frozen=True, kw_only=True)
class PreviewPage:
    """The customer's page, and what the desk may do with the revision."""

    revision: QuoteRevision
    work_order_pk: int
    customer: CustomerPage
    answer: SignedAnswer | None
    answering: Answering
    seen_sha256: str
    is_draft: bool
    is_sent: bool
    is_decided: bool
    is_discarded: bool


@dataclass(frozen=True, kw_only=True)
class PaperFailed:
    """Why there is no paper just now."""

    pk: int
    sentence: str


@require_POST
@allowed(access.may_price)
def start(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    # the one button of a work order names no jobs: it asks about all that are open
    chosen = chosen_jobs(request.POST) if "chosen" in request.POST else None

    def effect() -> str:
        return reverse("quotes:edit", args=[quotes.start_quote(work_order.pk, jobs=chosen, by=by).pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_safe
@allowed(access.may_price)
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    try:
        page = builder_page(pk, viewer=request.user, at=timezone.now())
    except QuoteRevision.DoesNotExist:
        raise Http404 from None
    if not page.is_draft:
        return redirect("quotes:preview", pk)
    cards = job_cards(page, locale=locale_of(request))
    return render(request, "quotes/edit.html", {"page": page, "forms": cards})


@require_safe
@allowed(access.may_price)
def preview(request: StaffRequest, pk: int) -> HttpResponse:
    revision = _find_rows(pk)
    is_draft = revision.state == RevisionState.DRAFT
    is_unsent = revision.state in UNSENT
    content = draft_content(revision, at=timezone.now()) if is_unsent else stored_content(revision)
    is_decided = revision.state == RevisionState.DECIDED
    answer = answer_to(revision, content=content) if is_decided else None
    page = PreviewPage(
        revision=revision,
        work_order_pk=revision.quote.work_order_id,
        customer=_customer_page(revision, content, answer=answer),
        answer=answer,
        answering=answering(revision, at=timezone.now()),
        seen_sha256=digest(canonical(content)),
        is_draft=is_draft,
        is_sent=revision.state == RevisionState.SENT,
        is_decided=is_decided,
        is_discarded=revision.state == RevisionState.DISCARDED,
    )
    return render(request, "quotes/preview.html", {"page": page, "form": DecisionForm(content=content)})


def _customer_page(revision: QuoteRevision, content: Content, *, answer: SignedAnswer | None) -> CustomerPage:
    pks = photo_pks(revision)
    return customer_page(
        content,
        photo_url=lambda sha256: reverse("media:photo", args=[pks[sha256]]),
        picked=picks_of(answer, content=content) if answer is not None else None,
    )


@require_POST
@allowed(access.may_price)
def send(request: StaffRequest, pk: int) -> HttpResponse:
    revision, by = _find_revision(pk), actor_of(request)
    form = SendForm(request.POST)
    if not form.is_valid():
        raise BadInput(
            "version", request.POST.get("version", ""), _("the preview of this quote, opened anew")
        )
    version, seen = form.cleaned_data["version"], form.cleaned_data["seen"]
    if is_compared(revision.pk):
        break_evens.prepare()

    def effect() -> str:
        sent = quotes.send_quote(revision.pk, version=version, by=by, seen_sha256=seen)
        return reverse("quotes:preview", args=[sent.pk])

    try:
        return HttpResponseRedirect(once(request, effect, by=by))
    except Stale as stale:
        raise Refused(
            _("Somebody changed this quote after you opened it. Look at it once more, then send it.")
        ) from stale


@require_POST
@allowed(access.may_price)
def discard(request: StaffRequest, pk: int) -> HttpResponse:
    revision, by, form = _find_rows(pk), actor_of(request), VersionedForm(request.POST)
    if not form.is_valid():
        raise BadInput("version", request.POST.get("version", ""), _("the draft, opened anew"))

    def effect() -> str:
        quotes.discard_quote(revision.pk, version=form.cleaned_data["version"], by=by)
        return reverse("work_orders:detail", args=[revision.quote.work_order_id])

    location = once(request, effect, by=by)
    messages.success(request, _("The draft is thrown away. A new quote may ask about its jobs."))
    return HttpResponseRedirect(location)


@require_POST
@allowed(access.may_price)
def revise(request: StaffRequest, pk: int) -> HttpResponse:
    revision, by = _find_revision(pk), actor_of(request)

    def effect() -> str:
        return reverse("quotes:edit", args=[quotes.revise_quote(revision.pk, by=by).pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_POST
@allowed(access.may_price)
def hand_over(request: StaffRequest, pk: int) -> HttpResponse:
    # not by way of a request key: its stored outcome would hold the token, of which only a hash may be kept
    _link, token = links.open_counter(_find_revision(pk).pk, by=actor_of(request))
    # a message meant for the desk must not greet the customer
    list(get_messages(request))
    logout(request)
    location = reverse("approvals:enter", args=[token])
    if wants_part(request):
        return HttpResponse(status=204, headers={"HX-Redirect": location})
    return HttpResponseRedirect(location)


@require_safe
@allowed(access.may_price)
def paper(request: StaffRequest, pk: int) -> HttpResponse:
    find_row(QuoteRevision.objects.exclude(state__in=UNSENT), pk=pk)
    revision = revision_rows(pk)
    photos = {sha256: photo_path(sha256) for sha256 in shown_photos(stored_content(revision))}
    try:
        pdf = quote_pdf(revision, photos=photos)
    except NotAsShown as error:
        raise Refused(error.sentence) from error
    except RenderFailed as error:
        page = PaperFailed(pk=pk, sentence=error.sentence)
        return render(request, "quotes/paper_failed.html", {"page": page}, status=503)
    filename = f"{revision.quote.number}-{revision.revision}.pdf"
    name = content_disposition_header(as_attachment=False, filename=filename)
    headers = {"Content-Disposition": name or "inline"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _find_rows(pk: int) -> QuoteRevision:
    try:
        return revision_rows(pk)
    except QuoteRevision.DoesNotExist:
        raise Http404 from None


def _find_revision(pk: int) -> QuoteRevision:
    found: QuoteRevision = find_row(QuoteRevision.objects, pk=pk)
    return found

"""How a sent quote gets its answer: a link for the phone, a call written down, a question answered."""

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import quote as quoted

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import links, questions, spoken_answers
from shopapp.actions.refusals import Refused, Stale
from shopapp.documents.approvals import approval_pdf
from shopapp.documents.qr_codes import qr_address
from shopapp.documents.quotes import NotAsShown
from shopapp.documents.renderer import RenderFailed
from shopapp.models import Question, QuoteRevision, RevisionState, Shop
from shopapp.queries.answering import CallPage, answering, call_page
from shopapp.queries.customer_quotes import customer_page, photo_pks
from shopapp.queries.shop import the_shop
from shopapp.queries.shown import revision_rows, stored_content
from shopapp.web.quotes.forms_answers import AnswerQuestionForm, SendLinkForm, SpokenForm, call_values
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@dataclass(frozen=True, kw_only=True)
class SendLinkPage:
    """A quote that may go to the customer's phone, and the addresses that the shop knows."""

    pk: int
    number: str
    customer: str
    known: tuple[str, ...]
    is_out: bool


@dataclass(frozen=True, kw_only=True)
class LinkPage:
    """The link, shown this once: as text, as a code to scan, and as a message ready to send."""

    pk: int
    number: str
    sent_to: str
    expires_at: datetime
    address: str
    code: str
    send_with: str
    is_email: bool


@allowed(access.may_price)
@require_http_methods(["GET", "HEAD", "POST"])
def send_link(request: StaffRequest, pk: int) -> HttpResponse:
    revision = _find_sent(pk)
    page = _send_link_page(revision)
    form = SendLinkForm(request.POST or None, initial={"sent_to": next(iter(page.known), "")})
    if request.method != "POST" or not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "quotes/send_link.html", {"page": page, "form": form}, status=status)
    # not by way of a request key: its stored outcome would hold the token, of which only a hash may be kept
    by, sent_to = actor_of(request), form.cleaned_data["sent_to"]
    link, token = links.open_phone(pk, sent_to, by=by)
    address = request.build_absolute_uri(reverse("approvals:enter", args=[token]))
    page_of_link = LinkPage(
        pk=pk,
        number=revision.quote.number,
        sent_to=link.sent_to,
        expires_at=link.expires_at,
        address=address,
        code=qr_address(address),
        send_with=_message_to(link.sent_to, address=address, number=revision.quote.number),
        is_email="@" in link.sent_to,
    )
    return render(request, "quotes/link.html", {"page": page_of_link})


def _send_link_page(revision: QuoteRevision) -> SendLinkPage:
    customer = revision.quote.work_order.customer
    return SendLinkPage(
        pk=revision.pk,
        number=revision.quote.number,
        customer=customer.name,
        known=tuple(filter(None, (customer.phone, customer.email))),
        is_out=answering(revision, at=timezone.now()).link is not None,
    )


def _message_to(sent_to: str, *, address: str, number: str) -> str:
    """An address that opens the message in the program for it (RFC 6068 for email, RFC 5724 for texts)."""
    shop = the_shop().name
    words = _("%(shop)s: your quote %(number)s is ready. Read it and answer here: %(address)s") % {
        "shop": shop,
        "number": number,
        "address": address,
    }
    if "@" in sent_to:
        subject = _("Your quote %(number)s from %(shop)s") % {"number": number, "shop": shop}
        return f"mailto:{quoted(sent_to, safe='@')}?subject={quoted(subject)}&body={quoted(words)}"
    digits = "".join(char for char in sent_to if char in "+0123456789")
    return f"sms:{digits}?body={quoted(words)}"


@allowed(access.may_price)
@require_POST
def revoke_link(request: StaffRequest, pk: int) -> HttpResponse:
    revision, by = find_row(QuoteRevision.objects, pk=pk), actor_of(request)

    def effect() -> str:
        links.revoke_phone(revision.pk, by=by)
        return reverse("quotes:preview", args=[revision.pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@allowed(access.may_price)
@require_http_methods(["GET", "HEAD", "POST"])
def answer_by_phone(request: StaffRequest, pk: int) -> HttpResponse:
    revision, shop = _find_rows(pk), the_shop()
    if revision.state != RevisionState.SENT:
        return redirect("quotes:preview", pk)
    wish = request.POST.get("answer", "")
    if request.method == "POST" and wish in ("approve", "decline"):
        return _write_down(request, revision, shop=shop, is_declined=wish == "decline")
    sent = request.POST if request.method == "POST" else None
    page = _call_page(revision, form=_spoken_form(sent, revision, shop=shop), shop=shop)
    # what was typed so far stays, but nobody is told off for what they have not come to yet
    form = _spoken_form(None, revision, shop=shop)
    form.initial = {**form.initial, **request.POST.dict()}
    return answer(request, "quotes/answer_by_phone.html", "call-total", {"page": page, "form": form})


def _write_down(
    request: StaffRequest, revision: QuoteRevision, *, shop: Shop, is_declined: bool
) -> HttpResponse:
    form, by = _spoken_form(request.POST, revision, shop=shop, is_declined=is_declined), actor_of(request)

    def effect() -> str:
        spoken_answers.record_spoken(revision.pk, form.as_input(), by=by)
        return reverse("quotes:preview", args=[revision.pk])

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("Written down. The answer counts from when it was said."))
        return HttpResponseRedirect(location)
    page = _call_page(revision, form=form, shop=shop)
    return render(request, "quotes/answer_by_phone.html", {"page": page, "form": form}, status=422)


def _spoken_form(
    sent: QueryDict | None, revision: QuoteRevision, *, shop: Shop, is_declined: bool = False
) -> SpokenForm:
    customer = revision.quote.work_order.customer
    return SpokenForm(
        sent,
        content=stored_content(revision),
        is_declined=is_declined,
        offers_parts_back=shop.offers_parts_back,
        zone=shop.time_zone,
        initial=call_values(name=customer.name, phone=customer.phone, at=timezone.now()),
    )


def _call_page(revision: QuoteRevision, *, form: SpokenForm, shop: Shop) -> CallPage:
    pks = photo_pks(revision)
    customer = customer_page(
        stored_content(revision),
        picked=form.picked(),
        photo_url=lambda sha256: reverse("media:photo", args=[pks[sha256]]),
    )
    return call_page(revision, customer, shop=shop)


@allowed(access.may_price)
@require_POST
def answer_question(request: StaffRequest, pk: int) -> HttpResponse:
    question, by = find_row(Question.objects, pk=pk), actor_of(request)
    form = AnswerQuestionForm(request.POST)
    if not form.is_valid():
        raise Refused(_("The answer is empty or too long. Go back and write a few sentences."))
    typed = form.cleaned_data

    def effect() -> str:
        questions.answer_question(pk, typed["answer"], version=typed["version"], by=by)
        return f"{reverse('quotes:preview', args=[question.revision_id])}#quote-questions"

    try:
        return HttpResponseRedirect(once(request, effect, by=by))
    except Stale as stale:
        raise Refused(
            _("Somebody answered this question a moment ago. Go back and read their answer first.")
        ) from stale


@allowed(access.may_price)
@require_safe
def answer_paper(request: StaffRequest, pk: int) -> HttpResponse:
    # an answer to what nobody was shown has no record on paper
    find_row(QuoteRevision.objects.filter(state=RevisionState.DECIDED, sent_at__isnull=False), pk=pk)
    revision = revision_rows(pk)
    try:
        pdf = approval_pdf(revision)
    except NotAsShown as error:
        raise Refused(error.sentence) from error
    except RenderFailed as error:
        raise Refused(error.sentence) from error
    filename = f"{revision.quote.number}-{revision.revision}-answer.pdf"
    name = content_disposition_header(as_attachment=False, filename=filename)
    headers = {"Content-Disposition": name or "inline"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _find_sent(pk: int) -> QuoteRevision:
    revision = _find_revision(pk)
    if revision.state != RevisionState.SENT:
        raise Refused(_("Only a quote that was sent and not answered yet can go to a customer."))
    return revision


def _find_rows(pk: int) -> QuoteRevision:
    try:
        return revision_rows(pk)
    except QuoteRevision.DoesNotExist:
        raise Http404 from None


def _find_revision(pk: int) -> QuoteRevision:
    rows = QuoteRevision.objects.select_related("quote__work_order__customer")
    found: QuoteRevision = find_row(rows, pk=pk)
    return found

"""Quotes on paper, as they were shown and answered; nothing is printed that does not check out."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from shopapp.documents.canonical import canonical, digest
from shopapp.documents.papers import paper_bytes
from shopapp.models import SPOKEN, AnswerHow, Approval, ApprovedChoice, QuoteRevision
from shopapp.queries.customer_quotes import PageJob, page_jobs
from shopapp.queries.shop import the_shop
from shopapp.queries.shown import Content, content_on_frozen_facts, figures, stored_content
from shopapp.queries.signed_answers import SignedAnswer, signed_answer


class NotAsShown(Exception):
    """The rows and what was shown no longer agree; the sentence may be shown as it stands."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


@dataclass(frozen=True, kw_only=True)
class QuotePaper:
    """What the template of the paper gets: what was shown, and the answer once there is one."""

    content: Content
    jobs: tuple[PageJob, ...]
    answer: SignedAnswer | None


def verified_content(revision: QuoteRevision) -> Content:
    """What a sent revision showed, once the quote's own rows still say the same (``queries.revision_rows``).

    The rows rest on the facts that were frozen, so a shop that moved can print its old papers. Raises
    NotAsShown when stored text, its hash and the rows do not agree. No query.
    """
    if revision.shown and digest(revision.shown) != revision.shown_sha256:
        raise NotAsShown(_("What was stored of this quote was changed. It cannot be printed."))
    stored = stored_content(revision)
    if figures(content_on_frozen_facts(revision)) != figures(stored):
        raise NotAsShown(_("The lines of this quote no longer match what was shown. It cannot be printed."))
    return stored


def verified_approval(revision: QuoteRevision) -> Approval | None:
    """The answer to a revision, once its signature still fits its rows. Raises NotAsShown; two queries."""
    approval = Approval.objects.select_related("witness", "recorded_by").filter(revision=revision).first()
    if approval is None:
        return None
    chosen = dict(ApprovedChoice.objects.filter(approval=approval).values_list("choice", "option"))
    approval.revision = revision
    if signed_digest(approval, chosen=chosen) != approval.signed_sha256:
        raise NotAsShown(_("What was chosen no longer matches what was signed. It cannot be printed."))
    return approval


def signed_digest(approval: Approval, *, chosen: Mapping[int, int | None]) -> str:
    """SHA-256 over all that an answer says; what was shown (its text, with the consent in it) by its hash.

    ``chosen`` maps choices to options. Address and device are left out: they prove little and may be erased.
    What an answer on the shop's tablet does not have is not in it either, so that the oldest still hold.
    """
    signed = {
        "shown": digest(approval.revision.shown),
        "chosen": {str(choice): option for choice, option in chosen.items()},
        "decision": str(approval.decision),
        "without_tax_minor": approval.without_tax_minor,
        "with_tax_minor": approval.with_tax_minor,
        "name": approval.signed_name,
        "strokes": digest(approval.strokes),
        "reason": approval.reason,
        "time": _exactly(approval.decided_at),
        "witness": approval.witness_id,
    }
    return digest(canonical(signed | _unsigned_facts(approval)))


def _unsigned_facts(approval: Approval) -> dict[str, Any]:
    """How it was answered where not at the counter, and when the shop learned of it; else what was told."""
    facts: dict[str, Any] = {}
    if approval.wants_parts_back is not None:
        facts["wants_parts_back"] = approval.wants_parts_back
    if approval.how != AnswerHow.SIGNED_HERE:
        facts["how"] = str(approval.how)
    if approval.how == AnswerHow.DOCK and approval.recorded_at is not None:
        facts["recorded_by"] = approval.recorded_by_id
        facts["recorded_at"] = _exactly(approval.recorded_at)
    if approval.how in SPOKEN and approval.recorded_at is not None:
        names = ("called_number", "extra_work", "extra_minor", "new_total_minor", "relation")
        facts |= {name: getattr(approval, name) for name in names}
        facts["recorded_by"] = approval.recorded_by_id
        facts["recorded_at"] = _exactly(approval.recorded_at)
    return facts


def _exactly(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def quote_pdf(revision: QuoteRevision, *, photos: Mapping[str, Path]) -> bytes:
    """The PDF of a sent revision (from ``queries.revision_rows``): with its answer once there is one.

    ``photos`` maps the SHA-256 of the frozen photos to files. Raises NotAsShown, RenderFailed.
    """
    content = verified_content(revision)
    approval = verified_approval(revision)
    answer = signed_answer(approval, content=content) if approval is not None else None
    paper_size = str(the_shop().paper)
    key = revision.shown_sha256 if approval is None else approval.signed_sha256
    make = partial(quote_html, content, paper_size=paper_size, answer=answer)
    return paper_bytes("quote", key, make, photos=photos)


def quote_html(content: Content, *, paper_size: str, answer: SignedAnswer | None = None) -> str:
    """The paper from the canonical content alone; ``paper_size`` is "a4" or "letter"."""
    context: dict[str, Any] = {
        "page": QuotePaper(content=content, jobs=page_jobs(content), answer=answer),
        "paper_size": paper_size,
    }
    return render_to_string("documents/quote.html", context)

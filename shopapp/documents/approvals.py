"""The record of an answer on paper: all that was agreed, how, by whom, when, and the hashes that prove it.

From where and with which device it was signed is kept in the row alone: it may have to be erased one day,
and a paper is kept for good.
"""

from dataclasses import dataclass
from functools import partial
from typing import Any

from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from shopapp.documents.canonical import digest
from shopapp.documents.papers import paper_bytes
from shopapp.documents.quotes import NotAsShown, verified_approval, verified_content
from shopapp.models import Approval, PaperKind, QuoteRevision
from shopapp.queries.customer_quotes import PageJob, page_jobs
from shopapp.queries.shop import the_shop
from shopapp.queries.shown import Content
from shopapp.queries.signed_answers import Chosen, SignedAnswer, signed_answer


@dataclass(frozen=True, kw_only=True)
class AnsweredJob:
    """A question with what was chosen."""

    page: PageJob
    chosen: Chosen


@dataclass(frozen=True, kw_only=True)
class ApprovalPaper:
    """What the template of the paper gets."""

    content: Content
    jobs: tuple[AnsweredJob, ...]
    answer: SignedAnswer
    shown_sha256: str
    signed_sha256: str


def approval_pdf(revision: QuoteRevision) -> bytes:
    """The record of the answer to a revision (from ``queries.revision_rows``), always the same bytes.

    Raises NotAsShown when there is no answer, or when it no longer fits what was shown and signed;
    RenderFailed.
    """
    content = verified_content(revision)
    approval = verified_approval(revision)
    if approval is None:
        raise NotAsShown(_("This quote has no answer yet, so there is no record of one."))
    paper_size = str(the_shop().paper)
    key = approval_key(approval.signed_sha256)
    make = partial(approval_html, approval, content=content, paper_size=paper_size)
    return paper_bytes(PaperKind.APPROVAL, key, make)


def approval_key(signed_sha256: str) -> str:
    """By what the record is stored; the quote's own paper goes by the signature itself."""
    return digest(f"{PaperKind.APPROVAL}\n{signed_sha256}")


def approval_html(approval: Approval, *, content: Content, paper_size: str) -> str:
    """The paper; ``paper_size`` is "a4" or "letter"."""
    answer = signed_answer(approval, content=content)
    jobs = zip(page_jobs(content), answer.jobs, strict=True)
    page = ApprovalPaper(
        content=content,
        jobs=tuple(AnsweredJob(page=job, chosen=chosen) for job, chosen in jobs),
        answer=answer,
        shown_sha256=approval.revision.shown_sha256,
        signed_sha256=approval.signed_sha256,
    )
    context: dict[str, Any] = {"page": page, "paper_size": paper_size}
    return render_to_string("documents/approval.html", context)

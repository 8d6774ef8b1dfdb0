"""The intake sheet: on what terms a boat is here. A draft while unsigned, frozen once it is signed."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial

from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from shopapp.documents.canonical import canonical, digest
from shopapp.documents.papers import paper_bytes
from shopapp.documents.quotes import NotAsShown
from shopapp.models import Intake, PaperKind
from shopapp.queries.intakes import (
    Content,
    Signature,
    TermRow,
    intake_content,
    signature_of,
    stored_content,
    term_rows,
    terms_content,
)
from shopapp.queries.shop import the_shop


@dataclass(frozen=True, kw_only=True)
class IntakePaper:
    """What the template gets: what is shown, its terms in sentences, the signature once there is one."""

    content: Content
    terms: tuple[TermRow, ...]
    signature: Signature | None


def verified_intake(intake: Intake) -> Content:
    """What was signed, once the row still says the same. Raises NotAsShown; ValueError while unsigned.

    Stored text, its hash, the terms of the row and the hash of the signature must all agree. No query.
    """
    if intake.signed_at is None:
        raise ValueError(f"{intake} is not signed")
    if intake.shown and digest(intake.shown) != intake.shown_sha256:
        raise NotAsShown(_("What was stored of this intake was changed. It cannot be printed."))
    stored = stored_content(intake)
    if terms_content(intake, rules=stored["facts"]["rules"]) != stored["terms"]:
        raise NotAsShown(_("The terms of this intake no longer match what was signed. It cannot be printed."))
    if signed_digest(intake) != intake.signed_sha256:
        raise NotAsShown(_("The signature of this intake does not fit its text. It cannot be printed."))
    return stored


def signed_digest(intake: Intake) -> str:
    """SHA-256 over all that a signature says; what was shown (with the words agreed to) by its hash.

    Address and device are left out: they prove little and may be erased.
    """
    if intake.signed_at is None:
        raise ValueError(f"{intake} is not signed")
    signed = {
        "shown": digest(intake.shown),
        "how": str(intake.signed_how),
        "name": intake.signed_name,
        "strokes": digest(intake.strokes),
        "time": intake.signed_at.astimezone(UTC).isoformat(timespec="microseconds"),
        "witness": intake.witness_id,
    }
    return digest(canonical(signed))


def shown_intake(intake: Intake, *, at: datetime) -> Content:
    """What is shown of an intake: what was signed and still fits, or the draft as the rows are now."""
    if intake.signed_at is not None:
        return verified_intake(intake)
    return intake_content(intake, at=at)


def intake_pdf(intake: Intake, *, at: datetime) -> bytes:
    """The sheet on the shop's paper. Raises NotAsShown, RenderFailed. Not inside a transaction."""
    content, paper_size = shown_intake(intake, at=at), str(the_shop().paper)
    signature = signature_of(intake, content=content)
    key = intake.signed_sha256 or digest(f"{paper_size} {canonical(content)}")
    make = partial(intake_html, content, paper_size=paper_size, signature=signature)
    return paper_bytes(PaperKind.INTAKE, key, make)


def intake_html(content: Mapping[str, object], *, paper_size: str, signature: Signature | None = None) -> str:
    """The paper from its content alone; ``paper_size`` is "a4" or "letter"."""
    paper = IntakePaper(content=dict(content), terms=term_rows(dict(content)), signature=signature)
    return render_to_string("documents/intake.html", {"page": paper, "paper_size": paper_size})

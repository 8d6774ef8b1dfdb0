"""The receipt on paper: for money that came in. A payment never changes, so its receipt is made from it."""

from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string

from shopapp.documents.canonical import canonical, digest
from shopapp.documents.papers import paper_bytes
from shopapp.models import PaperKind, Payment
from shopapp.queries.receipts import receipt_content


def receipt_pdf(payment: Payment) -> bytes:
    """The PDF of a payment's receipt: made once from its content, then the stored bytes.

    Not inside a transaction. Raises RenderFailed when it can't be made.
    """
    content = receipt_content(payment)
    return paper_bytes(PaperKind.RECEIPT, digest(canonical(content)), lambda: receipt_html(content))


def receipt_html(content: Mapping[str, Any]) -> str:
    """The HTML of a receipt from its content alone: no clock, no rows."""
    return render_to_string("documents/receipt.html", {"page": content, "paper_size": content["paper_size"]})

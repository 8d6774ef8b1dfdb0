"""The invoice, or the credit note, on paper, rendered only from what was frozen when it was issued."""

import json
from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from shopapp.documents.canonical import digest
from shopapp.documents.papers import paper_bytes
from shopapp.documents.renderer import RenderFailed
from shopapp.models import Invoice, InvoiceKind, PaperKind


def invoice_pdf(invoice: Invoice) -> bytes:
    """The PDF of an issued invoice: made once, then the stored bytes. Not inside a transaction.

    Raises RenderFailed when it can't be made, or when the frozen content is not what its hash says;
    ValueError for a draft.
    """
    if invoice.issued_at is None:
        raise ValueError(f"{invoice} has no paper before it is issued")
    if digest(invoice.shown) != invoice.shown_sha256:
        raise RenderFailed(
            _("What was frozen for %(number)s was changed in the database, so it is not printed.")
            % {"number": invoice.number}
        )
    kind = PaperKind.CREDIT_NOTE if invoice.kind == InvoiceKind.CREDIT_NOTE else PaperKind.INVOICE
    return paper_bytes(kind, invoice.shown_sha256, lambda: invoice_html(json.loads(invoice.shown)))


def invoice_html(content: Mapping[str, Any]) -> str:
    """The HTML of an invoice from its content alone (``queries.invoice_papers``): no clock, no rows."""
    return render_to_string("documents/invoice.html", {"page": content, "paper_size": content["paper_size"]})

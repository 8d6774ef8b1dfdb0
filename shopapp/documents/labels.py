"""Labels of parts: number, name, and a code that opens the part when a camera looks at it."""

from django.template.loader import render_to_string

from shopapp.documents.canonical import canonical, digest
from shopapp.documents.papers import paper_bytes
from shopapp.documents.qr_codes import qr_svg
from shopapp.queries.parts import Label


def part_label_pdf(label: Label, *, address: str) -> bytes:
    """The label of a part as a small PDF; the same words and address give the same bytes.

    Raises RenderFailed. Must not be called inside a transaction (see ``papers.paper_bytes``).
    """
    key = digest(canonical({"label": vars(label), "address": address, "schema": 1}))
    return paper_bytes("tag", key, lambda: part_label_html(label, address=address))


def part_label_html(label: Label, *, address: str) -> str:
    """The label from its facts alone."""
    context = {"page": label, "code": qr_svg(address)}
    return render_to_string("documents/part_label.html", context)

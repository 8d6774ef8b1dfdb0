"""The work order on paper, for the wall of the shed and days without a network: boxes to tick, no prices."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.template.loader import render_to_string

from shopapp.documents.canonical import canonical, digest
from shopapp.documents.papers import paper_bytes
from shopapp.documents.qr_codes import QrCode, qr_code
from shopapp.models import PaperKind, WorkOrder
from shopapp.queries.work_order_papers import work_order_content


@dataclass(frozen=True, kw_only=True)
class WorkOrderPaper:
    """What the template gets."""

    content: Mapping[str, Any]
    code: QrCode


def work_order_pdf(work_order: WorkOrder, *, address: str) -> bytes:
    """The paper of a visit as it stands now; the same state of things gives the same bytes.

    Its code leads to ``address``. Not inside a transaction. Raises RenderFailed when it can't be made.
    """
    content = work_order_content(work_order, address=address)
    key = digest(f"{PaperKind.WORK_ORDER}\n{canonical(content)}")
    return paper_bytes(PaperKind.WORK_ORDER, key, lambda: work_order_html(content))


def work_order_html(content: Mapping[str, Any]) -> str:
    """The HTML from the content alone: no clock, no rows."""
    page = WorkOrderPaper(content=content, code=qr_code(content["address"]))
    return render_to_string("documents/work_order.html", {"page": page, "paper_size": content["paper_size"]})

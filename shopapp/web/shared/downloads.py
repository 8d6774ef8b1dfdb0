"""Files that leave the shop: sent piece by piece, never kept by a browser, and written into the log."""

import logging
from collections.abc import Iterator

from django.http import HttpResponse, StreamingHttpResponse
from django.utils.http import content_disposition_header

from shopapp.context import display
from shopapp.files.tables import csv_bytes
from shopapp.queries.tables import Table
from shopapp.web.shared.logs import named
from shopapp.web.shared.signed_in import StaffRequest, today_of

logger = logging.getLogger("shopapp.access")


def table_file(request: StaffRequest, table: Table) -> StreamingHttpResponse | HttpResponse:
    """The table as a CSV file to keep; who took it, and from where, stands in the log."""
    shop = display(request)["display"]
    pieces = csv_bytes(table, locale=shop.locale, time_zone=shop.time_zone)
    return download(request, pieces, name=f"{table.name}-{today_of(request):%Y-%m-%d}.csv", kind="text/csv")


def download(
    request: StaffRequest, pieces: Iterator[bytes], *, name: str, kind: str
) -> StreamingHttpResponse | HttpResponse:
    """A file in pieces, of this name and content type; a question for the head alone makes none of them."""
    content_type = f"{kind}; charset=utf-8" if kind.startswith("text/") else kind
    where = request.META.get("REMOTE_ADDR")
    if request.method == "HEAD":
        response: StreamingHttpResponse | HttpResponse = HttpResponse(content_type=content_type)
    else:
        logger.info("sent %s to person:%s at %s", named(request), request.user.pk, where)
        response = StreamingHttpResponse(pieces, content_type=content_type)
    response.headers["Content-Disposition"] = content_disposition_header(as_attachment=True, filename=name)
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response

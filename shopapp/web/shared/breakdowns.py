"""Pages for what no rule foresaw. They ask nothing of the database, and show nothing of the program."""

import logging
import secrets

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from shopapp.web.shared.logs import named

logger = logging.getLogger("shopapp.breakdowns")

# no letter that is taken for a digit over the telephone
_LETTERS = "ABCDEFGHJKLMNPQRTUVWXYZ2346789"
_TOO_MUCH = (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)
REFERENCE = "X-Reference"


def broken(request: HttpRequest) -> HttpResponse:
    """A breakdown with a number, which stands in the log with the trace: whoever saw it can be helped."""
    reference = "-".join("".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(2))
    logger.error("breakdown %s in %s", reference, named(request), exc_info=True)
    page = render_to_string("500.html", {"reference": reference})
    return HttpResponse(page, status=500, headers={REFERENCE: reference})


def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """What was sent is too large, or no browser would have sent it."""
    if isinstance(exception, _TOO_MUCH):
        return HttpResponse(render_to_string("413.html"), status=413)
    return HttpResponse(render_to_string("400.html"), status=400)


def only_for_forms(response: HttpResponse) -> HttpResponse:
    """Words on the bare answer to somebody who looks at an address where only forms are sent."""
    response.content = render_to_string("405.html").encode()
    return response

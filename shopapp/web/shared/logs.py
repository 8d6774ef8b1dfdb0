"""One line of JSON for each thing that is logged, with its time in UTC, and without a customer's token.

JSON writes a line break as two letters: nobody can write a second line into the log by what they send.
"""

import json
import logging
import re
from datetime import UTC, datetime

from django.http import HttpRequest

_TOKEN = re.compile(r"(/approvals/(?:intake/)?enter/)[^/\s?]+")


class HideTokens(logging.Filter):
    """Writes an ellipsis in the place of each token, in the message and in what is put into it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record through, without its tokens."""
        record.msg = _without(record.msg)
        if isinstance(record.args, tuple):
            record.args = tuple(_without(one) for one in record.args)
        return True


class OneLine(logging.Formatter):
    """When, how grave, from which part of the shop, what, and the way to a breakdown, as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as a line; whatever stands in it, there is no line break in that."""
        told = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "from": record.name,
            "said": record.getMessage(),
        }
        # what strangers send, a name that is none of the shop's above all, is told in full by its sentence
        if record.exc_info and not record.name.startswith("django.security."):
            told["way"] = str(_without(self.formatException(record.exc_info)))
        return json.dumps(told)


def _without(value: object) -> object:
    return _TOKEN.sub(r"\1…", value) if isinstance(value, str) else value


def named(request: HttpRequest) -> str:
    """The request by the name of its view: an address may hold a customer's token."""
    name = request.resolver_match.view_name if request.resolver_match is not None else "an unknown address"
    return f"{request.method} {name}"

"""Keeps secrets out of the logs: the token in a customer's address is the customer's key."""

import logging
import re

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


def _without(value: object) -> object:
    return _TOKEN.sub(r"\1…", value) if isinstance(value, str) else value


def named(request: HttpRequest) -> str:
    """The request by the name of its view: an address may hold a customer's token."""
    name = request.resolver_match.view_name if request.resolver_match is not None else "an unknown address"
    return f"{request.method} {name}"

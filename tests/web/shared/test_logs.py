"""No token of a customer's link gets into the logs."""

import logging

import pytest
from django.conf import settings

from shopapp.web.shared.logs import HideTokens

TOKEN = "q5WJx0V-4o_jkL1r2b3n4m5p6s7t8u9v0wAxByCzD"
INTAKE = "Method Not Allowed (POST): /approvals/intake/enter/…/"


@pytest.mark.parametrize(
    ("message", "args", "written"),
    [
        ("%s: %s", ("Not Found", f"/approvals/enter/{TOKEN}/"), "Not Found: /approvals/enter/…/"),
        (f"GET /approvals/enter/{TOKEN}/ 302", (), "GET /approvals/enter/…/ 302"),
        ("%s", (f"http://h/approvals/enter/{TOKEN}?a=b",), "http://h/approvals/enter/…?a=b"),
        (f"Method Not Allowed (POST): /approvals/intake/enter/{TOKEN}/", (), INTAKE),
        ("%s of %d", ("/approvals/decide/", 3), "/approvals/decide/ of 3"),
        ("%(a)s", ({"a": "b"},), "b"),
    ],
)
def test_token_is_left_out_of_a_record(message: str, args: tuple[object, ...], written: str) -> None:
    record = logging.LogRecord("django.request", logging.WARNING, "", 1, message, args, None)

    is_kept = HideTokens().filter(record)

    assert (is_kept, record.getMessage()) == (True, written)


def test_every_handler_leaves_tokens_out() -> None:
    filters = {name: handler["filters"] for name, handler in settings.LOGGING["handlers"].items()}

    assert filters == {"console": ["tokens"]}


@pytest.mark.parametrize("name", ["shopapp", "django"])
def test_loggers_write_without_tokens(name: str) -> None:
    record = logging.LogRecord(name, logging.ERROR, "", 1, f"/approvals/enter/{TOKEN}/", (), None)

    kept = [handler.filter(record) for handler in logging.getLogger(name).handlers]

    assert len(kept) == 1
    assert record.getMessage() == "/approvals/enter/…/"

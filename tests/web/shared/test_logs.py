"""A line of JSON for each thing that is logged; no token of a customer's link gets into it."""

import json
import logging
import sys
from datetime import UTC, datetime

import pytest
from django.conf import settings
from django.test import Client

from shopapp.web.shared.logs import HideTokens, OneLine

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


def line_of(message: str, *args: object, **more: object) -> str:
    record = logging.LogRecord("shopapp.access", logging.WARNING, "", 1, message, args, more.get("exc_info"))
    record.created = datetime(2026, 6, 2, 17, 30, 0, 250_000, tzinfo=UTC).timestamp()
    return OneLine().format(record)


def test_line_says_when_by_universal_time_and_what() -> None:
    assert json.loads(line_of("refused %s by %s", "GET parts:index", "person:3")) == {
        "at": "2026-06-02T17:30:00.250+00:00",
        "level": "WARNING",
        "from": "shopapp.access",
        "said": "refused GET parts:index by person:3",
    }


@pytest.mark.parametrize(
    "sent",
    ['a\n{"level": "INFO"}', "a\r\nb", "a\x1b[2Jb", "a\u2028b", "a\x85b", "\u202eb", 'a"}', "\x00", "\ud800"],
)
def test_nobody_writes_a_second_line(sent: str) -> None:
    line = line_of("refused %s", sent)

    assert len(line.splitlines()) == 1
    assert line.isascii()
    assert json.loads(line)["said"] == f"refused {sent}"


def test_way_to_a_breakdown_is_in_its_line_without_tokens() -> None:
    try:
        raise LookupError(f"/approvals/enter/{TOKEN}/")
    except LookupError:
        line = line_of("broken", exc_info=sys.exc_info())

    assert len(line.splitlines()) == 1
    assert json.loads(line)["way"].endswith("LookupError: /approvals/enter/…/")


def test_name_that_is_none_of_the_shops_is_one_short_line(client: Client) -> None:
    written: list[str] = []
    listener = logging.StreamHandler()
    listener.emit = lambda record: written.append(OneLine().format(record))  # type: ignore[method-assign]
    logger = logging.getLogger("django.security.DisallowedHost")
    logger.addHandler(listener)

    response = client.get("/", headers={"host": "elsewhere.example"})

    logger.removeHandler(listener)
    assert response.status_code == 400
    (line,) = (json.loads(one) for one in written)
    assert set(line) == {"at", "level", "from", "said"}
    assert line["said"].startswith("Invalid HTTP_HOST header: 'elsewhere.example'.")


def test_logs_go_to_the_console_alone_as_lines() -> None:
    """Whoever runs the shop decides where its console goes; the app opens no file and no connection."""
    handlers = {name: (one["class"], one["formatter"]) for name, one in settings.LOGGING["handlers"].items()}

    assert handlers == {"console": ("logging.StreamHandler", "line")}
    assert settings.LOGGING["formatters"] == {"line": {"()": "shopapp.web.shared.logs.OneLine"}}
    assert {name: one["handlers"] for name, one in settings.LOGGING["loggers"].items()} == {
        "shopapp": ["console"],
        "django": ["console"],
    }

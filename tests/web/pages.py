"""Reads pages as a browser would: headings, fields, errors; and sends forms with everything they hold."""

import uuid
from collections.abc import Iterator
from html.parser import HTMLParser

from django.http import HttpResponse


class _Fields(HTMLParser):
    """Names and values of inputs, text areas and selects, in the order of the page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, str]] = []
        self._area: str | None = None
        self._text: list[str] = []
        self._is_in_head = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if tag == "form":
            # the head of every desk page carries the fields of a form that is put aside
            self._is_in_head = named.get("class") == "park"
        if self._is_in_head:
            return
        if tag == "input" and named.get("type") not in ("radio", "checkbox"):
            self.found.append((str(named.get("name")), named.get("value") or ""))
        if tag == "textarea":
            self._area, self._text = str(named.get("name")), []

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self._area is not None:
            # a browser drops the first line break of a text area
            self.found.append((self._area, "".join(self._text).removeprefix("\n")))
            self._area = None


def fields_of(response: HttpResponse) -> list[tuple[str, str]]:
    """Every field of the page with its value."""
    parser = _Fields()
    parser.feed(response.content.decode())
    return parser.found


def values_of(response: HttpResponse, name: str) -> Iterator[str]:
    """The values of all fields of that name."""
    return (value for found, value in fields_of(response) if found == name)


def text_of(response: HttpResponse) -> str:
    """The page as text."""
    return response.content.decode()


def fresh_key() -> dict[str, str]:
    """A request key as a freshly opened page holds it."""
    return {"once_key": str(uuid.uuid4())}

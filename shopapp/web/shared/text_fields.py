"""Form fields for text that people type: one line, or several; without characters that nobody can see."""

import unicodedata
from typing import Any

from django import forms

_MARKS_OF_DIRECTION = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class LineField(forms.CharField):
    """One line: gaps become one space, so that nothing can break out of a mail header or a table row."""

    def to_python(self, value: Any) -> str:
        return " ".join(_seen(super().to_python(value) or "", kept="").split())


class ParagraphsField(forms.CharField):
    """Several lines, ended in one way whatever the browser sends."""

    widget = forms.Textarea(attrs={"rows": 3})

    def to_python(self, value: Any) -> str:
        text = (super().to_python(value) or "").replace("\r\n", "\n").replace("\r", "\n")
        return _seen(text, kept="\n\t").strip()


class StoryField(ParagraphsField):
    """Told at length: the browser keeps it until it is sent. Never for prices, addresses or telephones."""

    widget = forms.Textarea(attrs={"rows": 3, "data-keep": ""})


def _seen(text: str, *, kept: str) -> str:
    """The text without control characters; gaps stay gaps, and NUL stays for Django to refuse."""
    return "".join(_plain(char, kept=kept) for char in text if char not in _MARKS_OF_DIRECTION)


def _plain(char: str, *, kept: str) -> str:
    if char in kept or char == "\x00" or unicodedata.category(char) != "Cc":
        return char
    return " " if char.isspace() else ""

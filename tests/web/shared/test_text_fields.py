"""Text that people type, without what nobody can see."""

import pytest
from django import forms

from shopapp.web.shared.text_fields import LineField, ParagraphsField
from tests.web.shared.bad_values import BAD_TEXTS


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  Anna   Berg ", "Anna Berg"),
        ("name\r\nBcc: a@b.example", "name Bcc: a@b.example"),
        ("a\tb\u00a0c\u2028d\x85e", "a b c d e"),
        ("\x1b[31mred\x07\x7f", "[31mred"),
        ("abc\u202edef", "abcdef"),
        ("👩‍🔧 Wen", "👩‍🔧 Wen"),
        ("a\u0301", "a\u0301"),
    ],
)
def test_line_field_keeps_what_is_seen(typed: str, kept: str) -> None:
    assert LineField().clean(typed) == kept


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (" It whines.\r\nIt smokes.\r\n", "It whines.\nIt smokes."),
        ("a\rb\tc", "a\nb\tc"),
        ("a\x00b".replace("\x00", "\x07"), "ab"),
        ("abc\u2066def", "abcdef"),
    ],
)
def test_paragraphs_field_keeps_its_lines(typed: str, kept: str) -> None:
    assert ParagraphsField().clean(typed) == kept


@pytest.mark.parametrize("typed", ["", " ", "\n", "\x07", "\u202e", "a\x00b"])
def test_text_that_is_nothing_is_refused(typed: str) -> None:
    for field in (LineField(), ParagraphsField()):
        with pytest.raises(forms.ValidationError):
            field.clean(typed)


def test_line_field_never_holds_a_line_break() -> None:
    field = LineField(required=False)
    texts = [text for text in BAD_TEXTS if "\x00" not in text]

    kept = [field.clean(text) for text in texts]

    assert [text for text in kept if len(text.splitlines()) > 1 or text != text.strip()] == []

"""A language nobody speaks: each text two fifths longer, with accents, between ⟦ and ⟧.

What stands on a page outside the brackets is either the shop's own data or was forgotten. Made on the fly, so
no catalogue has to be kept. Two fifths: short English words grow by more in other languages, whole sentences
by less; https://www.w3.org/International/articles/article-text-size.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.db import models
from django.utils.translation import trans_real
from playwright.sync_api import Page

from shopapp.calc.units import FACTS, Unit

_FUNCTIONS = Path(__file__).with_suffix(".js").read_text(encoding="utf-8")
_KEPT = re.compile(r"(%\(\w+\)[sd]|%[sd%]|{\w*}|<[^>]*>|&\w+;)")
_LONGER = str.maketrans({
    "a": "áá", "e": "éé", "i": "íí", "o": "óó", "u": "úú",
    "A": "ÁÁ", "E": "ÉÉ", "I": "ÍÍ", "O": "ÓÓ", "U": "ÚÚ",
})  # fmt: skip
# months and units of time in a day or a moment, which Babel writes in the locale of the shop
_DAYS = re.compile(
    r"\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) \d{4}|\b[AP]M\b|\b[A-Z]{3}\b"
    r"|\b(?:January|February|March|April|May|June|July|August|September|October|November|December)\b"
)
# signs of units, and the codes by which a table names them, are the same everywhere
_MEASURES = re.compile(
    "|".join(
        rf"(?<!\w){re.escape(sign)}(?!\w)"
        for sign in sorted({*Unit, *(facts.symbol for facts in FACTS.values())}, key=len, reverse=True)
    )
)
_WORD = re.compile(r"[^\W\d_]{2,}")
# what is the same in every language, and what a person types: keys, an extension of a name
_EVERYWHERE = {"PDF", "Esc", "Alt", "CSV"}


def longer(text: str) -> str:
    """The text as this language says it; what is filled in stays as it is."""
    parts = _KEPT.split(text)
    return f"⟦{''.join(part if at % 2 else part.translate(_LONGER) for at, part in enumerate(parts))}⟧"


class _Longer:
    """Stands where Django keeps the catalogue of a language."""

    @staticmethod
    def gettext(message: str) -> str:
        return longer(message.rpartition("\x04")[2])

    @staticmethod
    def ngettext(singular: str, plural: str, number: int) -> str:
        return _Longer.gettext(singular if number == 1 else plural)

    @staticmethod
    def to_language() -> str:
        return settings.LANGUAGE_CODE

    @staticmethod
    def language() -> str:
        return settings.LANGUAGE_CODE


@contextmanager
def spoken() -> Iterator[None]:
    """Everybody in this process speaks it, also the threads of the server."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(trans_real, "_default", _Longer())
        patch.setitem(trans_real._translations, settings.LANGUAGE_CODE, _Longer())
        patch.setattr(trans_real._active, "value", _Longer(), raising=False)
        yield


def own_words() -> set[str]:
    """Every word of the shop's own data: names, complaints, numbers, terms."""
    found: set[str] = set()
    for model in apps.get_app_config("shopapp").get_models():
        fields = [
            f.attname
            for f in model._meta.concrete_fields
            if isinstance(f, models.CharField | models.TextField)
        ]
        for row in model._default_manager.values_list(*fields):
            found.update(word for value in row if value for word in _WORD.findall(str(value)))
    return found


def forgotten(page: Page, own: set[str]) -> list[str]:
    """What the page says in English all the same."""
    said = page.evaluate(f"() => ({_FUNCTIONS.strip()}).outsideBrackets()")
    found = []
    for text in said:
        told = _WORD.findall(_MEASURES.sub(" ", _DAYS.sub(" ", text)))
        words = [word for word in told if word not in own | _EVERYWHERE]
        if words:
            found.append(f"in English: {' '.join(words)} ({text[:80]})")
    return found

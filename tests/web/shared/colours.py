"""Reads the style sheets of the screens: which colours each theme has, and which stand on which."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

STATIC = Path(settings.BASE_DIR) / "static"
TEMPLATES = Path(settings.BASE_DIR) / "templates"
_PIECE = re.compile(r"([^{};]*)([{};])")
_TOKEN = re.compile(r"var\(--([\w-]+)\)")


@dataclass(frozen=True, kw_only=True)
class Rule:
    """A block of declarations with everything it stands in, outermost first."""

    sheet: str
    within: tuple[str, ...]
    declared: dict[str, str]

    @property
    def selector(self) -> str:
        return self.within[-1]

    def tokens(self, *names: str) -> list[str]:
        """The colours named in these declarations."""
        found = [_TOKEN.findall(self.declared.get(name, "")) for name in names]
        return [token for tokens in found for token in tokens]


def screen_sheets() -> list[Path]:
    """The sheets that some page for the screen loads."""
    pages = [page for page in TEMPLATES.rglob("*.html") if page.parent.name != "documents"]
    named = {name for page in pages for name in re.findall(r"{% static '([^']+\.css)' %}", page.read_text())}
    return [STATIC / name for name in sorted(named)]


def rules(sheet: Path) -> Iterator[Rule]:
    """Every block of a sheet, in order."""
    text = re.sub(r"/\*.*?\*/", "", sheet.read_text(encoding="utf-8"), flags=re.DOTALL)
    within: list[str] = []
    declared: dict[str, str] = {}
    for words, end in _PIECE.findall(text):
        if end == "{":
            within, declared = [*within, " ".join(words.split())], {}
            continue
        name, colon, value = words.partition(":")
        if colon:
            declared[name.strip()] = " ".join(value.split())
        if end == "}":
            if declared:
                yield Rule(sheet=sheet.name, within=tuple(within), declared=declared)
            within, declared = within[:-1], {}


def themes() -> dict[str, dict[str, str]]:
    """Light, dark (chosen, and as the device is set) and sun: token → colour."""
    blocks = {rule.within[1:]: rule.declared for rule in rules(STATIC / "css/tokens.css")}
    light = _colours(blocks[":root",])
    return {
        "light": light,
        "dark": light | _colours(blocks["@media screen", '[data-theme="dark"]']),
        "dark device": light
        | _colours(blocks["@media screen and (prefers-color-scheme: dark)", ":root:not([data-theme])"]),
        "sun": light | _colours(blocks['[data-theme="sun"]',]),
    }


def _colours(declared: dict[str, str]) -> dict[str, str]:
    named = {name.removeprefix("--"): value for name, value in declared.items() if name.startswith("--")}
    return {name: value for name, value in named.items() if value.startswith("#")}

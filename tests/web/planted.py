"""Amounts that nobody would write by chance, planted to be looked for in answers."""

import io
import re

from pypdf import PdfReader

from shopapp.calc.money import format_money, format_number, from_e4, from_minor

# four odd decimals each, so that none turns up by chance: 731.0113, 831.0120, …
PLANTED = tuple(7_310_113 + place * 1_000_007 for place in range(80))
LOCALES = ("en_CA", "de_DE", "fr_FR")


def plain(planted: int) -> str:
    """Without noughts at the end, as pages write it."""
    return f"{from_e4(planted).normalize():f}"


def ways_to_write(planted: int) -> set[str]:
    """How an amount could be written: as stored, as a number, as money, cut to cents."""
    amounts = (from_e4(planted), from_minor(planted // 100, currency="CAD"))
    written = {str(planted), plain(planted), *(str(amount) for amount in amounts)}
    for locale in LOCALES:
        written |= {format_number(amount, locale=locale) for amount in amounts}
        written |= {format_money(amount, currency="CAD", locale=locale) for amount in amounts}
    return written


_ANY = re.compile("|".join(map(re.escape, sorted(set().union(*map(ways_to_write, PLANTED))))))


def found_in(text: str) -> list[str]:
    """Every way of writing a planted amount that stands in the text."""
    return sorted(set(_ANY.findall(text)))


def words_of(content: bytes) -> str:
    """A page as text, a PDF as its text."""
    if content.startswith(b"%PDF"):
        return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return content.decode(errors="replace")

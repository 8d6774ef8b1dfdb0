"""Finds records by the words people say at the counter: names, phone digits, hull and serial numbers."""

import re
import unicodedata
from collections.abc import Sequence

from django.db import connection

from shopapp.models import SearchText

SHORTEST_MIDDLE = 3
MOST_WORDS = 20
# digits with gaps between them, as telephone numbers are written
_RUN = re.compile(r"((?<!\w)\d(?:[\s().\-/]*\d)*(?!\w))")
# a document's number: a few letters, perhaps, and figures whose leading noughts don't count
_NUMBER = re.compile(r"([^\W\d_]{0,6})[\W_]*0*(\d{1,12})")
# stands around such a number in the index; folding takes it out of every question, so nobody can type it
_MARK = "№"
# a way in which a piece of the question may be met: all of these words
type Way = list[str]


def normalise(text: str) -> str:
    """Lower case, no accents, one space between words; a number with gaps also without them.

    >>> normalise("Æsa-Marie  (604) 555-0142")
    'æsa marie 604 555 0142 6045550142'
    """
    plain = _plain(text)
    return " ".join(dict.fromkeys([*_words(plain), *(_closed(run) for run in _RUN.findall(plain))]))


def search_words(*parts: str) -> str:
    """The words of a record from its fields, with each field that holds digits also written without gaps."""
    closed = [_closed(_plain(part)) for part in parts if re.search(r"\d", part)]
    return " ".join(dict.fromkeys([*" ".join(map(normalise, parts)).split(), *filter(None, closed)]))


def closed(text: str) -> str:
    """A number without gaps, dashes and capitals, so that two ways of writing it are one."""
    return _closed(_plain(text))


def number_words(number: str) -> str:
    """A document's number as it is found exactly: without gaps and leading noughts, and without its letters.

    >>> number_words("W-00042")
    '№w42№ №42№'
    """
    hit = _NUMBER.fullmatch(_plain(number.strip()))
    if hit is None:
        return ""
    letters, figures = hit.groups()
    return " ".join(dict.fromkeys(f"{_MARK}{text}{figures}{_MARK}" for text in (letters, "")))


def numbered_ids(question: str, *, kinds: Sequence[str], limit: int = 20) -> list[tuple[str, int]]:
    """(kind, record id) of documents whose number is the question, newest first: ``w3`` is ``W-00003``.

    Without letters every series is looked at. One query, and none when the question is no number.
    """
    exact = number_words(question).split()
    return _hits([_test(exact[0])], kinds=kinds, limit=limit) if exact and kinds else []


def matching_ids(question: str, *, kinds: Sequence[str], limit: int = 20) -> list[tuple[str, int]]:
    """(kind, record id) of records that hold every word of the question, newest first.

    Words of three characters and more are found anywhere (trigram index), shorter ones at the beginning
    of a word; digits with gaps also as one number. The same answer on SQLite and PostgreSQL. An empty
    question finds nothing; words after the twentieth are not looked at.
    """
    pieces = _pieces(question)
    if not pieces or not kinds:
        return []
    return _hits([_any_way(ways) for ways in pieces], kinds=kinds, limit=limit)


def _hits(
    tests: Sequence[tuple[str, list[str]]], *, kinds: Sequence[str], limit: int
) -> list[tuple[str, int]]:
    condition = " AND ".join(test for test, _ in tests)
    marks = ", ".join(["%s"] * len(kinds))
    # the matches are made first: PostgreSQL would otherwise walk the primary key and skip the index
    query = (
        f"WITH hits AS MATERIALIZED (SELECT id, kind, record_id FROM shopapp_searchtext WHERE {condition})"  # noqa: S608 (only marks and fixed text)
        f" SELECT kind, record_id FROM hits WHERE kind IN ({marks}) ORDER BY id DESC LIMIT %s"
    )
    with connection.cursor() as cursor:
        cursor.execute(query, [*(value for _, values in tests for value in values), *kinds, limit])
        return [(kind, record_id) for kind, record_id in cursor.fetchall()]


def _plain(text: str) -> str:
    """Folded twice: some signs (℡) come apart into capitals."""
    folded = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    return "".join(char for char in folded if not unicodedata.combining(char))


def _words(plain: str) -> list[str]:
    return re.sub(r"[\W_]+", " ", plain).split()


def _closed(plain: str) -> str:
    return "".join(_words(plain))


def _pieces(question: str) -> list[list[Way]]:
    """The question cut up: each piece with the ways in which a record may meet it."""
    pieces, left = [], MOST_WORDS
    for text in _RUN.split(_plain(question)):
        words = list(dict.fromkeys(_words(text)))[:left]
        left -= len(words)
        if words:
            is_number_with_gaps = len(words) > 1 and _RUN.fullmatch(text)
            pieces.append([words, [_closed(text)]] if is_number_with_gaps else [words])
    return pieces


def _any_way(ways: Sequence[Way]) -> tuple[str, list[str]]:
    tests = [[_test(word) for word in way] for way in ways]
    texts = [" AND ".join(text for text, _ in way) for way in tests]
    return f"({' OR '.join(texts)})", [value for way in tests for _, values in way for value in values]


def _test(word: str) -> tuple[str, list[str]]:
    if len(word) < SHORTEST_MIDDLE:
        return "(words LIKE %s OR words LIKE %s)", [f"{word}%", f"% {word}%"]
    if connection.vendor == "sqlite":
        return "id IN (SELECT rowid FROM shopapp_search WHERE shopapp_search MATCH %s)", [f'"{word}"']
    return "words LIKE %s", [f"%{word}%"]


def known_words(kind: str, record_id: int) -> str:
    """What is kept of a record in the index (empty when nothing is)."""
    row = SearchText.objects.filter(kind=kind, record_id=record_id).first()
    return row.words if row is not None else ""

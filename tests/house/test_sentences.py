"""Words that reach a screen can be translated; sums below them speak plain English by design."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import REPOSITORY, parsed, plant, python_files, short, templates

SPEAKING = ("shopapp/actions", "shopapp/queries", "shopapp/files", "shopapp/documents")
# refusal → the place of its sentence among the arguments
SENTENCE_OF = {"BadInput": 2, "LikelyKnown": 2, "Refused": 0, "NotAllowed": 0, "Busy": 0}

# what is the same in every language: a file format and the names of keys
EVERYWHERE = {"PDF", "Esc", "Alt", "CSV"}
_SAID_ELSEWHERE = re.compile(
    r"{%\s*(comment|blocktranslate)\b.*?%}.*?{%\s*end\1\s*%}|<(style|script)\b.*?</\2>"
    # these two blocks hold names of the style sheet
    r"|{% block (?:main_class|surface) %}.*?{% endblock %}|{%.*?%}|{{.*?}}",
    re.DOTALL,
)
_READ_OUT = re.compile(r"\b(?:alt|aria-label|placeholder|title|data-label)=[\"']([^\"']*)[\"']")
_MARKUP = re.compile(r"<[^>]*>|&\w+;")
_WORD = re.compile(r"[^\W\d_]{2,}")


def plain_sentences(path: Path) -> Iterator[int]:
    """Lines on which something is refused with words that gettext never sees."""
    for node in ast.walk(parsed(path)):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        place = SENTENCE_OF.get(node.func.id)
        if place is not None and len(node.args) > place and _is_plain(node.args[place]):
            yield node.lineno


def _is_plain(said: ast.expr) -> bool:
    if isinstance(said, ast.BinOp):
        return _is_plain(said.left)
    return isinstance(said, ast.JoinedStr | ast.Constant)


def untranslatable(root: Path) -> list[str]:
    return [
        f"{short(root, path)}:{line}: words without gettext"
        for path in python_files(root, *SPEAKING)
        for line in plain_sentences(path)
    ]


def bare_words(root: Path) -> list[str]:
    """Words that stand in a template as they are, in its text or in what is read out."""
    found = []
    for path in templates(root):
        text = _SAID_ELSEWHERE.sub(" ", path.read_text(encoding="utf-8"))
        words = _WORD.findall(" ".join([*_READ_OUT.findall(text), _MARKUP.sub(" ", text)]))
        found += [
            f"{short(root, path)}: {word} without translate" for word in words if word not in EVERYWHERE
        ]
    return found


def test_words_of_templates_are_translatable() -> None:
    assert "\n".join(bare_words(REPOSITORY)) == ""


def test_bare_word_is_caught_and_named(tmp_path: Path) -> None:
    lines = [
        '{% comment %}No words{% endcomment %}<p>{% translate "Fine" %} {{ page.name }}, PDF</p>',
        "{% blocktranslate with a=b %}Good {{ a }}{% endblocktranslate %}<p>Save</p>",
        '<img alt="Boat"><a title="{% translate \'Fine\' %}" href="/boats/">7 h</a>',
    ]
    plant(tmp_path, "templates/quotes/edit.html", "\n".join(lines))

    found = bare_words(tmp_path)

    assert found == [f"templates/quotes/edit.html: {word} without translate" for word in ("Boat", "Save")]


def test_sentences_of_refusals_are_translatable() -> None:
    assert "\n".join(untranslatable(REPOSITORY)) == ""


def test_plain_sentence_is_caught_and_named(tmp_path: Path) -> None:
    lines = [
        'raise Refused("No.")',
        'raise Refused(f"No {x}.")',
        'raise BadInput("a", 1, "more " + x)',
        'raise BadInput("a", 1, _("more"))',
        'raise Refused(_("No %s.") % x)',
        'raise BadInput("a", 1, ", ".join(x))',
    ]
    plant(tmp_path, "shopapp/actions/quotes.py", "\n".join(lines))

    found = untranslatable(tmp_path)

    assert found == [f"shopapp/actions/quotes.py:{line}: words without gettext" for line in (1, 2, 3)]

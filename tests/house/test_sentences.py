"""Sentences that reach a screen can be translated; sums below them speak plain English by design."""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import REPOSITORY, parsed, plant, python_files, short

SPEAKING = ("shopapp/actions", "shopapp/queries", "shopapp/files", "shopapp/documents")
# refusal → the place of its sentence among the arguments
SENTENCE_OF = {"BadInput": 2, "LikelyKnown": 2, "Refused": 0, "NotAllowed": 0, "Busy": 0}


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

"""What every module and every public name of the lower floors says about itself."""

import ast
from pathlib import Path

import pytest

from tests.house.tree import REPOSITORY, Function, Rule, parsed, plant, python_files, short

DOCUMENTED = ("shopapp/calc", "shopapp/actions", "shopapp/queries", "shopapp/documents")
MODULE_LINES = 3


def said_by(node: ast.Module | ast.ClassDef | Function) -> str:
    return ast.get_docstring(node) or ""


def silent_modules(root: Path) -> list[str]:
    """Modules that do not say what they are about, or say too much; an empty package has nothing to say."""
    found = []
    for path in python_files(root, "shopapp", "tests"):
        tree = parsed(path)
        if path.name == "__init__.py" and not tree.body:
            continue
        lines = len([line for line in said_by(tree).splitlines() if line])
        if not lines:
            found.append(f"{short(root, path)}: no module docstring")
        if path.parts[len(root.parts)] == "shopapp" and lines > MODULE_LINES:
            found.append(f"{short(root, path)}: module docstring of {lines} lines, at most {MODULE_LINES}")
    return found


def silent_names(root: Path) -> list[str]:
    """Public functions and classes of the lower floors without a docstring."""
    return [
        f"{short(root, path)}: {node.name} is public and has no docstring"
        for path in python_files(root, *DOCUMENTED)
        for node in parsed(path).body
        if isinstance(node, ast.ClassDef | Function)
        if not node.name.startswith("_") and not said_by(node)
    ]


@pytest.mark.parametrize("rule", [silent_modules, silent_names])
def test_docstrings_are_where_they_belong(rule: Rule) -> None:
    assert "\n".join(rule(REPOSITORY)) == ""


def test_silent_modules_are_named_each(tmp_path: Path) -> None:
    plant(tmp_path, "shopapp/models/quiet.py", "x = 1\n")
    plant(tmp_path, "shopapp/models/chatty.py", '"""One.\n\nTwo.\nThree.\nFour.\n"""\n')
    plant(tmp_path, "shopapp/models/__init__.py", "")

    found = silent_modules(tmp_path)

    assert found == [
        "shopapp/models/chatty.py: module docstring of 4 lines, at most 3",
        "shopapp/models/quiet.py: no module docstring",
    ]


def test_silent_public_names_are_named(tmp_path: Path) -> None:
    plant(
        tmp_path, "shopapp/actions/quotes.py", "def send(): ...\n\n\ndef _lock(): ...\n\n\nclass Sent: ...\n"
    )

    found = silent_names(tmp_path)

    assert found == [
        "shopapp/actions/quotes.py: send is public and has no docstring",
        "shopapp/actions/quotes.py: Sent is public and has no docstring",
    ]

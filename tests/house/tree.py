"""Reads the project's files for the house rules; each rule takes the root, so a breach can be planted."""

import ast
import os
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parents[2]

# a rule names each breach in a sentence
Rule = Callable[[Path], list[str]]

Function = ast.FunctionDef | ast.AsyncFunctionDef

# made by tools, never by hand, and never committed
_MADE = ("__pycache__", "node_modules", "var", "test-results", "htmlcov")


def plant(root: Path, name: str, text: str) -> None:
    """Write a file below the root, folders included."""
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def python_files(root: Path, *folders: str) -> list[Path]:
    """Modules below the folders; migrations are written by Django."""
    found = (path for folder in folders for path in (root / folder).rglob("*.py"))
    return sorted(path for path in found if "migrations" not in path.parts)


def templates(root: Path) -> list[Path]:
    """Every template."""
    return sorted((root / "templates").rglob("*.html"))


def every_file(root: Path) -> Iterator[Path]:
    """Every file a person wrote: not what tools keep in folders of their own."""
    for folder, names, files in os.walk(root):
        hidden_tool_folders = {name for name in names if name.startswith(".") and name != ".ci"}
        names[:] = sorted(set(names) - hidden_tool_folders - set(_MADE))
        # in a second working tree .git is a file that says where the first one is
        yield from (Path(folder, name) for name in sorted(files) if name != ".git")


def text_of(path: Path) -> str | None:
    """The file as text, or nothing when it is a picture or a font."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None


def parsed(path: Path) -> ast.Module:
    """The module as a syntax tree, read once for all rules."""
    return _tree(path.read_text(encoding="utf-8"))


@cache
def _tree(source: str) -> ast.Module:
    return ast.parse(source)


def functions(path: Path) -> list[Function]:
    """Every function of a module, methods and inner functions too."""
    return [node for node in ast.walk(parsed(path)) if isinstance(node, Function)]


def short(root: Path, path: Path) -> str:
    """The path as a person would say it."""
    return path.relative_to(root).as_posix()

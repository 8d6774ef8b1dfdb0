"""How long files and functions may be, singly and as a rule, and how calculations are called."""

import statistics
from pathlib import Path

import pytest

from tests.house.tree import (
    REPOSITORY,
    Function,
    Rule,
    functions,
    parsed,
    plant,
    python_files,
    short,
    templates,
)

# figures of the house; the longest prefix that covers a path counts
FILE_LINES = {"shopapp": 400, "tests": 500, "templates": 250}
FUNCTION_LINES = {"shopapp/calc": 40, "shopapp/web": 40, "shopapp": 50, "tests": 60}
# (what, median, nine out of ten)
TYPICAL = {
    "product functions": (8, 24),
    "product files": (100, 250),
    "templates": (40, 140),
    "views": (12, 40),
    "tests": (12, 60),
}
POSITIONAL = 1


def ceiling(table: dict[str, int], name: str) -> int:
    """The figure of the longest prefix."""
    return table[max((prefix for prefix in table if name.startswith(f"{prefix}/")), key=len)]


def lines_of(path: Path) -> int:
    return path.read_text(encoding="utf-8").count("\n")


def length(function: Function) -> int:
    return (function.end_lineno or function.lineno) - function.lineno + 1


def long_files(root: Path) -> list[str]:
    """Files above their ceiling."""
    found = []
    for path in [*python_files(root, "shopapp", "tests"), *templates(root)]:
        name = short(root, path)
        most = ceiling(FILE_LINES, name)
        if lines_of(path) > most:
            found.append(f"{name}: {lines_of(path)} lines, at most {most}")
    return found


def long_functions(root: Path) -> list[str]:
    """Functions above their ceiling."""
    found = []
    for path in python_files(root, "shopapp", "tests"):
        name = short(root, path)
        most = ceiling(FUNCTION_LINES, name)
        found += [
            f"{name}: {function.name} has {length(function)} lines, at most {most}"
            for function in functions(path)
            if length(function) > most
        ]
    return found


def measured(root: Path) -> dict[str, list[int]]:
    """The lengths behind each figure of TYPICAL."""
    product = python_files(root, "shopapp")
    views = [path for path in product if path.name.startswith("views")]
    tests = python_files(root, "tests")
    return {
        "product functions": [length(f) for path in product for f in functions(path)],
        "product files": [lines_of(path) for path in product if lines_of(path)],
        "templates": [lines_of(path) for path in templates(root)],
        "views": [length(f) for path in views for f in functions(path)],
        "tests": [length(f) for path in tests for f in functions(path) if f.name.startswith("test_")],
    }


def stretched(root: Path) -> list[str]:
    """Figures whose median, or whose ninth tenth, is above what the house allows."""
    found = []
    for what, lengths in measured(root).items():
        if not lengths:
            continue
        median = statistics.median(lengths)
        ninth = sorted(lengths)[max(0, -(-9 * len(lengths) // 10) - 1)]
        most_median, most_ninth = TYPICAL[what]
        if median > most_median or ninth > most_ninth:
            found.append(
                f"{what}: median {median:g} of at most {most_median}, ninth tenth {ninth} of {most_ninth}"
            )
    return found


def unnamed_arguments(root: Path) -> list[str]:
    """Public calculations that take a second argument without its name."""
    found = []
    for path in python_files(root, "shopapp/calc"):
        for node in parsed(path).body:
            if isinstance(node, Function) and not node.name.startswith("_"):
                positional = len(node.args.posonlyargs) + len(node.args.args)
                if positional > POSITIONAL:
                    found.append(f"{short(root, path)}: {node.name} takes {positional} unnamed arguments")
    return found


@pytest.mark.parametrize("rule", [long_files, long_functions, stretched, unnamed_arguments])
def test_sizes_stay_within_the_figures(rule: Rule) -> None:
    assert "\n".join(rule(REPOSITORY)) == ""


def test_long_files_are_named_each(tmp_path: Path) -> None:
    plant(tmp_path, "shopapp/models/long.py", "x = 1\n" * 401)
    plant(tmp_path, "shopapp/models/fits.py", "x = 1\n" * 400)
    plant(tmp_path, "tests/models/test_long.py", "x = 1\n" * 501)
    plant(tmp_path, "templates/quotes/long.html", "<p>\n" * 251)

    found = long_files(tmp_path)

    assert found == [
        "shopapp/models/long.py: 401 lines, at most 400",
        "tests/models/test_long.py: 501 lines, at most 500",
        "templates/quotes/long.html: 251 lines, at most 250",
    ]


def test_long_functions_are_named_each(tmp_path: Path) -> None:
    plant(tmp_path, "shopapp/calc/money.py", "def add() -> None:\n" + "    x = 1\n" * 40)
    plant(tmp_path, "shopapp/actions/quotes.py", "def send() -> None:\n" + "    x = 1\n" * 49)

    found = long_functions(tmp_path)

    assert found == ["shopapp/calc/money.py: add has 41 lines, at most 40"]


def test_stretched_names_the_figure_exceeded(tmp_path: Path) -> None:
    plant(tmp_path, "shopapp/web/quotes/views.py", "def edit() -> None:\n" + "    x = 1\n" * 12)
    plant(tmp_path, "tests/web/test_edit.py", "def test_edit() -> None:\n" + "    x = 1\n" * 3)

    found = stretched(tmp_path)

    assert found == [
        "product functions: median 13 of at most 8, ninth tenth 13 of 24",
        "views: median 13 of at most 12, ninth tenth 13 of 40",
    ]


def test_unnamed_second_argument_is_named(tmp_path: Path) -> None:
    plant(
        tmp_path,
        "shopapp/calc/tax.py",
        "def tax(base, rate):\n    ...\n\n\ndef net(base, *, rate):\n    ...\n",
    )

    found = unnamed_arguments(tmp_path)

    assert found == ["shopapp/calc/tax.py: tax takes 2 unnamed arguments"]

"""Every requirement of OWASP ASVS 5.0.0 that applies here names tests that are there, or says why not.

The standard (CC BY-SA 4.0) is by the OWASP Foundation; its ids and levels 1 and 2, without what this app has
not got (sign-in by others, web sockets, XML services), are in reference/asvs_applicable.csv. The short words
in asvs.csv are ours. A test that fails or is missing fails here or by itself, so what is named has passed.
"""

import ast
import csv
import re
from collections import Counter
from pathlib import Path

from tests.house.tree import REPOSITORY, parsed

TESTS = REPOSITORY / "tests"
FEWEST_SHOWN = 150


def listed(name: str) -> list[dict[str, str]]:
    with (TESTS / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def those_of(path: Path) -> set[str]:
    """The tests of a module: functions at its top that are not left out of the everyday run."""
    if not path.exists():
        return set()
    found = [node for node in parsed(path).body if isinstance(node, ast.FunctionDef)]
    return {
        node.name
        for node in found
        if node.name.startswith("test_")
        and not any(ast.unparse(mark) == "pytest.mark.soak" for mark in node.decorator_list)
    }


def missing_tests(rows: list[dict[str, str]]) -> list[str]:
    """Named tests that are nowhere."""
    named = {(row["requirement"], test) for row in rows for test in row["tests"].split()}
    return [
        f"{requirement}: {test}"
        for requirement, test in sorted(named)
        if test.partition("::")[2] not in those_of(TESTS / test.partition("::")[0])
    ]


def test_table_holds_each_requirement_once() -> None:
    rows, wanted = listed("asvs.csv"), listed("reference/asvs_applicable.csv")

    assert [(row["requirement"], row["level"]) for row in rows] == [
        (row["requirement"], row["level"]) for row in wanted
    ]
    assert (len(wanted), Counter(row["level"] for row in wanted)) == (195, {"1": 64, "2": 131})


def test_each_requirement_is_shown_by_tests_or_excepted_with_a_reason() -> None:
    rows = listed("asvs.csv")

    undecided = [row["requirement"] for row in rows if bool(row["tests"]) == bool(row["exception"])]
    silent = [row["requirement"] for row in rows if row["exception"] and len(row["exception"].split()) < 5]
    assert (undecided, silent) == ([], [])
    assert sum(bool(row["tests"]) for row in rows) >= FEWEST_SHOWN
    assert missing_tests(rows) == []


def test_missing_test_is_named() -> None:
    rows = [{"requirement": "1.2.1", "tests": "house/test_asvs.py::test_nowhere nowhere.py::test_a"}]

    assert missing_tests(rows) == ["1.2.1: house/test_asvs.py::test_nowhere", "1.2.1: nowhere.py::test_a"]


def chapters() -> str:
    """The table in short, a line for each chapter, as DEVELOPERS.md may show it."""
    rows = listed("asvs.csv")
    shown = Counter(row["requirement"].partition(".")[0] for row in rows if row["tests"])
    excepted = Counter(row["requirement"].partition(".")[0] for row in rows if row["exception"])
    lines = [f"| V{one} | {shown[one]} | {excepted[one]} |" for one in dict.fromkeys([*shown, *excepted])]
    return "\n".join(["| chapter | shown by tests | excepted |", "| --- | --- | --- |", *lines])


def test_table_in_short_is_the_table() -> None:
    """Where DEVELOPERS.md holds the short table, it is this one."""
    text = (REPOSITORY / "DEVELOPERS.md").read_text(encoding="utf-8")

    found = re.search(r"\| chapter \| shown by tests \| excepted \|(?:\n\|.*)*", text)
    assert found is None or found[0] == chapters()

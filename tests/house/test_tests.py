"""What tests may not do: step aside, or talk to a stand-in."""

import ast
import re
from pathlib import Path

import pytest

from tests.house.tree import REPOSITORY, parsed, plant, python_files, short

_FORBIDDEN = re.compile(
    r"pytest\.(?:mark\.)?(?:skip|skipif|xfail|importorskip)|unittest\.(?:mock|skip\w*)|mock|pytest_mock"
)


def names_used(path: Path) -> set[str]:
    """Dotted names and imported modules of a test module, however they are brought in."""
    used: set[str] = set()
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Attribute):
            used.add(ast.unparse(node))
        if isinstance(node, ast.Import):
            used |= {alias.name for alias in node.names}
        if isinstance(node, ast.ImportFrom):
            used |= {f"{node.module}.{alias.name}" for alias in node.names} | {node.module or ""}
    return used


def evasions(root: Path) -> list[str]:
    """Tests that skip, expect to fail, or use stand-ins."""
    return [
        f"{short(root, path)}: uses {name}"
        for path in python_files(root, "tests")
        for name in sorted(names_used(path))
        if _FORBIDDEN.fullmatch(name)
    ]


def test_tests_neither_skip_nor_pretend() -> None:
    assert "\n".join(evasions(REPOSITORY)) == ""


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("pytest.skip('later')", "pytest.skip"),
        ("@pytest.mark.xfail\ndef test_a(): ...", "pytest.mark.xfail"),
        ("from pytest import importorskip", "pytest.importorskip"),
        ("from unittest import mock", "unittest.mock"),
    ],
)
def test_evasion_is_caught_and_named(tmp_path: Path, line: str, name: str) -> None:
    plant(tmp_path, "tests/test_a.py", line)

    found = evasions(tmp_path)

    assert found == [f"tests/test_a.py: uses {name}"]

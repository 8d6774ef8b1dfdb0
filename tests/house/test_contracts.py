"""The floors and rooms of the house, held by the import contracts of pyproject.toml."""

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from importlinter import api

from tests.house.tree import REPOSITORY
from tests.web.shared.bad_values import share_of_today

_RUN = "from importlinter.cli import lint_imports_command as run; run()"

LAYERS = "Layers: each floor rests only on those below"
SCREENS = "Screens do not import one another"
SUMS = "Calculation: sums rest on money and units"
NO_DJANGO = "Calculation knows no Django, no tables and no paper"
ROWS = "Rows know no way of showing them"
TRIGGERS = "The database's own rules know only Django"
PAPER = "Only documents make PDF files"
PICTURES = "Only files decode pictures"
TABLES = "Nothing handles pandas tables until there are reports"
CIRCLES = "No circles among siblings"

BREACHES = [
    ("calc/errors.py", "import shopapp.models", LAYERS),
    ("calc/errors.py", "import shopapp.sqlite_library", LAYERS),
    ("models/shop.py", "import shopapp.queries.find", LAYERS),
    ("access.py", "import shopapp.queries.find", LAYERS),
    ("queries/find.py", "import shopapp.actions.once", LAYERS),
    ("queries/find.py", "import shopapp.documents", LAYERS),
    ("documents/__init__.py", "import shopapp.actions.once", LAYERS),
    ("documents/__init__.py", "import shopapp.files", LAYERS),
    ("actions/once.py", "import shopapp.web.shared.once", LAYERS),
    ("management/__init__.py", "import shopapp.web.shared.once", LAYERS),
    ("web/__init__.py", "import shopapp.urls", LAYERS),
    ("stray/__init__.py", "", LAYERS),
    ("web/health/views.py", "import shopapp.web.people.forms", SCREENS),
    ("web/shared/once.py", "import shopapp.web.people.forms", SCREENS),
    ("web/stray/__init__.py", "", SCREENS),
    ("calc/money.py", "import shopapp.calc.totals", SUMS),
    ("calc/tax.py", "import shopapp.calc.totals", SUMS),
    ("calc/stray.py", "", SUMS),
    ("calc/money.py", "from django.utils import timezone", NO_DJANGO),
    ("calc/money.py", "import pandas", NO_DJANGO),
    ("models/shop.py", "import shopapp.templatetags.shop", ROWS),
    ("triggers.py", "import shopapp.calc.money", TRIGGERS),
    ("web/people/views.py", "import weasyprint", PAPER),
    ("documents/__init__.py", "from PIL import Image", PICTURES),
    ("actions/once.py", "import pandas", TABLES),
    ("actions/refusals.py", "import shopapp.actions.once", CIRCLES),
]


def contracts_of(root: Path) -> dict[str, str]:
    """Each contract's name and its verdict, KEPT or BROKEN."""
    run = subprocess.run(
        [sys.executable, "-c", _RUN, "--no-logo", "--no-cache"],
        cwd=root,
        env={"COLUMNS": "200", "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    verdicts = re.findall(r"^(.+?) (KEPT|BROKEN)\b", run.stdout, flags=re.MULTILINE)
    assert verdicts, run.stdout + run.stderr
    return dict(verdicts)


def names_of_contracts() -> set[str]:
    options = api.read_configuration(str(REPOSITORY / "pyproject.toml"))
    return {contract["name"] for contract in options["contracts_options"]}


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    shutil.copytree(
        REPOSITORY / "shopapp", tmp_path / "shopapp", ignore=shutil.ignore_patterns("__pycache__")
    )
    shutil.copy(REPOSITORY / "pyproject.toml", tmp_path)
    return tmp_path


def test_house_keeps_every_import_contract() -> None:
    verdicts = contracts_of(REPOSITORY)

    assert verdicts == dict.fromkeys(names_of_contracts(), "KEPT")


@contextmanager
def planted(root: Path, name: str, line: str) -> Iterator[None]:
    """A copy of the house with one line too many in a module, for as long as somebody looks."""
    path = root / "shopapp" / name
    before = path.read_text(encoding="utf-8") if path.exists() else None
    path.parent.mkdir(exist_ok=True)
    path.write_text(f"{before or ''}\n{line}\n", encoding="utf-8")
    yield
    if before is not None:
        path.write_text(before, encoding="utf-8")
        return
    path.unlink()
    if path.name == "__init__.py":
        path.parent.rmdir()


def test_contracts_catch_planted_imports(copy: Path) -> None:
    kept = dict.fromkeys(names_of_contracts(), "KEPT")

    for name, line, contract in share_of_today(BREACHES):
        with planted(copy, name, line):
            verdicts = contracts_of(copy)

        assert verdicts[contract] == "BROKEN", (name, line)
    assert contracts_of(copy) == kept


def test_breaches_try_every_import_contract() -> None:
    tried = {contract for _, _, contract in BREACHES}

    assert tried == names_of_contracts()

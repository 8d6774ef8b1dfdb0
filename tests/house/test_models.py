"""Rows: exact fields, constraints named for their table, nothing that happens behind one's back."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import REPOSITORY, Rule, parsed, plant, python_files, short

INEXACT = ("FloatField", "DecimalField")
SIGNALS = ("django.db.models.signals", "django.dispatch", "django.db.backends.signals")


def model_classes(root: Path) -> Iterator[tuple[str, ast.ClassDef]]:
    """Every top-level class of the models, with its file's name."""
    for path in python_files(root, "shopapp/models"):
        for node in parsed(path).body:
            if isinstance(node, ast.ClassDef):
                yield short(root, path), node


def called(node: ast.AST) -> str:
    """The last word of what a call calls."""
    return ast.unparse(node.func).rpartition(".")[2] if isinstance(node, ast.Call) else ""


def meta_of(model: ast.ClassDef) -> ast.ClassDef | None:
    return next((node for node in model.body if isinstance(node, ast.ClassDef) and node.name == "Meta"), None)


def inexact_fields(root: Path) -> list[str]:
    """Fields that SQLite keeps as binary floats."""
    return [
        f"{name}: {model.name} has a {called(node)}; money and quantities are whole numbers"
        for name, model in model_classes(root)
        for node in ast.walk(model)
        if called(node) in INEXACT
    ]


def names_in(meta: ast.ClassDef) -> Iterator[str]:
    """Names of constraints and indexes, and the tables given to functions that make constraints."""
    for node in ast.walk(meta):
        if called(node).endswith(("Constraint", "Index")):
            yield from (ast.literal_eval(word.value) for word in node.keywords if word.arg == "name")
        if called(node).endswith("_constraints"):
            yield f"{ast.literal_eval(node.args[0])}_"


def misnamed_constraints(root: Path) -> list[str]:
    """Constraints and indexes that do not begin with the name of their table."""
    return [
        f"{name}: {model.name} has {constraint}, which does not begin with {model.name.lower()}_"
        for name, model in model_classes(root)
        if (meta := meta_of(model))
        for constraint in names_in(meta)
        if not constraint.startswith(f"{model.name.lower()}_")
    ]


def hidden_deeds(root: Path) -> list[str]:
    """Overridden writing and default ordering: what a reader of an action would not see."""
    found = []
    for name, model in model_classes(root):
        found += [
            f"{name}: {model.name} overrides {node.name}"
            for node in model.body
            if isinstance(node, ast.FunctionDef) and node.name in ("save", "asave", "delete", "adelete")
        ]
        if (meta := meta_of(model)) and "ordering" in ast.unparse(meta):
            found.append(f"{name}: {model.name} has a default ordering")
    return found


def signal_users(root: Path) -> list[str]:
    """Modules that listen to signals; only the app's own set-up may, after a migration."""
    return [
        f"{short(root, path)}: imports {node.module}"
        for path in python_files(root, "shopapp")
        if path.name != "apps.py"
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.ImportFrom) and node.module in SIGNALS
    ]


@pytest.mark.parametrize("rule", [inexact_fields, misnamed_constraints, hidden_deeds, signal_users])
def test_rows_keep_the_house_rules(rule: Rule) -> None:
    assert "\n".join(rule(REPOSITORY)) == ""


def test_inexact_field_is_caught(tmp_path: Path) -> None:
    plant(tmp_path, "shopapp/models/lines.py", "class Line(Model):\n    price = models.DecimalField()\n")

    found = inexact_fields(tmp_path)

    assert found == [
        "shopapp/models/lines.py: Line has a DecimalField; money and quantities are whole numbers"
    ]


def test_misnamed_constraints_are_caught_each(tmp_path: Path) -> None:
    text = """class QuoteLine(Model):
    class Meta:
        constraints = [
            *line_constraints("invoiceline"),
            *line_constraints("quoteline"),
            models.CheckConstraint(name="some"),
            models.UniqueConstraint(name="quoteline_one_a_position"),
        ]
"""
    plant(tmp_path, "shopapp/models/quotes.py", text)

    found = misnamed_constraints(tmp_path)

    assert sorted(found) == [
        "shopapp/models/quotes.py: QuoteLine has invoiceline_, which does not begin with quoteline_",
        "shopapp/models/quotes.py: QuoteLine has some, which does not begin with quoteline_",
    ]


def test_hidden_deeds_are_caught_each(tmp_path: Path) -> None:
    text = """class Quote(Model):
    class Meta:
        ordering = ["number"]

    def save(self): ...
"""
    plant(tmp_path, "shopapp/models/quotes.py", text)

    found = hidden_deeds(tmp_path)

    assert found == [
        "shopapp/models/quotes.py: Quote overrides save",
        "shopapp/models/quotes.py: Quote has a default ordering",
    ]


def test_signal_user_is_caught_by_name(tmp_path: Path) -> None:
    line = "from django.db.models.signals import post_save\n"
    plant(tmp_path, "shopapp/actions/quotes.py", line)
    plant(tmp_path, "shopapp/apps.py", line)

    found = signal_users(tmp_path)

    assert found == ["shopapp/actions/quotes.py: imports django.db.models.signals"]

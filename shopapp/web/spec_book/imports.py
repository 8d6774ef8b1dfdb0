"""What each row of a table would be in the book, or why it can't: checked by the form that writes by hand."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from shopapp.actions.spec_values import ValueInput
from shopapp.actions.tightening_specs import TighteningInput, stage_columns
from shopapp.calc.errors import BadInput
from shopapp.files.csv_imports import Brought, BroughtRow
from shopapp.models import EngineFamily
from shopapp.queries.spec_rows import MODELS, ValueKind
from shopapp.queries.spec_words import ValueRow, words_of
from shopapp.web.shared.refusals import first_problem
from shopapp.web.spec_book.forms_values import ValueForm
from shopapp.web.spec_book.kinds import FORMS

_YES = frozenset({"1", "true", "on", "x"})
_ALREADY = ("version",)


@dataclass(frozen=True, kw_only=True)
class PreviewRow:
    """A row of the table: as it would stand in the book (``shown``), or what is wrong with it."""

    line: int
    typed: str
    shown: ValueRow | None
    problem: str


@dataclass(frozen=True, kw_only=True)
class Preview:
    """A whole table as it would be stored; ``values`` are those rows that can be."""

    rows: tuple[PreviewRow, ...]
    values: tuple[ValueInput, ...]
    text: str

    @property
    def wrong(self) -> int:
        """How many rows can't be stored."""
        return len(self.rows) - len(self.values)


def columns_of(kind: ValueKind) -> tuple[str, ...]:
    """The heads of a table of this kind: the names of the form's fields."""
    fields = FORMS[kind](locale="en").fields
    return tuple(name for name in fields if name not in _ALREADY)


def column_words(kind: ValueKind, *, locale: str) -> tuple[tuple[str, str, str], ...]:
    """Each head with what it means and what may stand there, for whoever fills the table in."""
    form = FORMS[kind](locale=locale)
    return tuple((name, str(form[name].label), _allowed(form.fields[name])) for name in columns_of(kind))


def preview(brought: Brought, *, family: EngineFamily, kind: ValueKind, locale: str) -> Preview:
    """Every row as it would be stored in a family. One query."""
    taken, rows, values = _in_the_book(family, kind), [], []
    for row in brought.rows:
        data, problem = _read(row, kind=kind, locale=locale)
        if data is not None and _key(data) in taken:
            data, problem = None, _("This is in the book already, or twice in the table.")
        if data is not None:
            values.append(data)
            taken |= {key for key in [_key(data)] if key}
        rows.append(
            PreviewRow(
                line=row.line,
                typed=", ".join(cell for cell in row.cells.values() if cell.strip()),
                shown=_shown(data, kind=kind, locale=locale) if data is not None else None,
                problem=problem,
            )
        )
    return Preview(rows=tuple(rows), values=tuple(values), text=brought.text)


def _read(row: BroughtRow, *, kind: ValueKind, locale: str) -> tuple[ValueInput | None, str]:
    empty = FORMS[kind](locale=locale)
    form = FORMS[kind](_data(empty, row.cells), locale=locale)
    if not form.is_valid():
        return None, first_problem(form)
    try:
        data = form.as_input()
        data.checked()
    except BadInput as refusal:
        label = str(form[refusal.field].label) if refusal.field in form.fields else refusal.field
        return None, BadInput(label, refusal.value, refusal.accepted).sentence
    return data, ""


def _data(form: ValueForm, cells: Mapping[str, str]) -> dict[str, str]:
    """The cells as the form takes them: choices by code or word, ticks by yes; what is left out is usual."""
    data: dict[str, str] = {}
    for name, field in form.fields.items():
        cell = cells.get(name, "").strip()
        if not cell:
            data |= _usual(name, field)
        elif isinstance(field, forms.BooleanField):
            data |= {name: "on"} if cell.casefold() in _YES | {_("yes").casefold()} else {}
        else:
            data[name] = _code(field, cell)
    return data


def _usual(name: str, field: forms.Field) -> dict[str, str]:
    is_given = field.required and field.initial not in (None, "")
    return {name: str(field.initial)} if is_given else {}


def _code(field: forms.Field, cell: str) -> str:
    if not isinstance(field, forms.ChoiceField):
        return cell
    words = {str(word).casefold(): str(code) for code, word in field.choices}  # type: ignore[misc,union-attr]
    return words.get(cell.casefold(), cell)


def _allowed(field: forms.Field) -> str:
    if isinstance(field, forms.BooleanField):
        return _("yes or empty")
    if isinstance(field, forms.ChoiceField):
        return ", ".join(str(code) for code, _word in field.choices if code)  # type: ignore[misc,union-attr]
    needed = "" if not field.required else _("Must be filled in.")
    return " ".join(filter(None, [str(field.help_text), needed]))


def _in_the_book(family: EngineFamily, kind: ValueKind) -> set[tuple[Any, ...]]:
    by = FORMS[kind].once_by()
    if not by:
        return set()
    rows = MODELS[kind]._default_manager.filter(family=family).values_list(*by)
    return {tuple(str(one) for one in row) for row in rows}


def _key(data: ValueInput) -> tuple[Any, ...]:
    columns = data.checked()
    return tuple(str(columns[name]) for name in data.once_by)


def _shown(data: ValueInput, *, kind: ValueKind, locale: str) -> ValueRow:
    stages = [stage_columns(one) for one in data.stages] if isinstance(data, TighteningInput) else []
    return words_of(kind, columns=data.checked(), stages=stages, locale=locale)

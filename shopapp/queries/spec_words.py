"""Each value of the spec book in words: what it is of, the figure in both units, what to mind, its page."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from shopapp.models import EngineFamily, PatternKind, StageKind, TighteningSpec, TighteningStage
from shopapp.queries.figures import plain, with_unit
from shopapp.queries.limit_words import limit_case, limit_figures
from shopapp.queries.spec_rows import MODELS, ValueKind, value_slug
from shopapp.queries.tightening import pattern_of_spec


@dataclass(frozen=True, kw_only=True)
class ValueRow:
    """One value: what it is of, the figure, what to mind, and where it stands."""

    slug: str
    what: str
    figure: str
    notes: tuple[str, ...]
    page: str


def value_rows(family: EngineFamily, kind: ValueKind, *, locale: str) -> tuple[ValueRow, ...]:
    """The values of one kind that a family has. One query, two for joints."""
    by, tell = _TOLD[kind]
    rows: Any = MODELS[kind]._default_manager.filter(family=family).order_by(*by, "pk")
    if kind == "tightening":
        rows = rows.prefetch_related("stages")
    return tuple(_row(row, told=tell(row, locale)) for row in rows)


type _Told = tuple[str, str, tuple[str, ...]]


def _row(row: Any, *, told: _Told) -> ValueRow:
    what, said, notes = told
    return ValueRow(slug=value_slug(row), what=what, figure=said, notes=notes, page=row.page)


def _capacity(row: Any, locale: str) -> _Told:
    level = _("to %(level)s") % {"level": row.level_to} if row.level_to else ""
    return row.point, with_unit(row.amount_e4, unit=row.unit, locale=locale), _some(row.product, level)


def _limit(row: Any, locale: str) -> _Told:
    return limit_case(row), limit_figures(row, locale=locale), _some(row.note)


def _interval(row: Any, _locale: str) -> _Told:
    hours = _("every %(hours)s h") % {"hours": row.hours} if row.hours else ""
    months = _("every %(months)s months") % {"months": row.months} if row.months else ""
    return row.what, _(" or ").join(_some(hours, months)), ()


def _fault(row: Any, _locale: str) -> _Told:
    return row.text, "", ()


def _bulletin(row: Any, _locale: str) -> _Told:
    serials = _("all serials")
    if row.serial_from or row.serial_to:
        serials = _("serials %(first)s to %(last)s") % {
            "first": row.serial_from or _("the first"),
            "last": row.serial_to or _("the last"),
        }
    return row.number, serials, _some(row.text)


def _tightening(row: TighteningSpec, locale: str) -> _Told:
    return _joint(row, stages=sorted(row.stages.all(), key=lambda one: one.position), locale=locale)


def _joint(row: TighteningSpec, *, stages: Sequence[TighteningStage], locale: str) -> _Told:
    order = ", ".join(str(number) for number in pattern_of_spec(row).order)
    whose = _("the maker's order: %(order)s") if row.sequence else _("order: %(order)s")
    notes = _some(
        pattern_words(row),
        whose % {"order": order},
        _("new fasteners each time") if row.is_one_time else "",
        row.treatment,
    )
    return row.joint, ", ".join(stage_words(one, locale=locale) for one in stages), notes


def words_of(
    kind: ValueKind, *, columns: Mapping[str, Any], stages: Sequence[Mapping[str, Any]], locale: str
) -> ValueRow:
    """A value that is not in the book, as it would be told there. No query."""
    row: Any = MODELS[kind](**columns)
    if isinstance(row, TighteningSpec):
        told = _joint(row, stages=[TighteningStage(**one) for one in stages], locale=locale)
    else:
        told = _TOLD[kind][1](row, locale)
    what, figure, notes = told
    return ValueRow(slug="", what=what, figure=figure, notes=notes, page=row.page)


def stage_words(stage: Any, *, locale: str) -> str:
    """One stage of a joint, torques in both units."""
    match StageKind(stage.kind):
        case StageKind.ANGLE:
            return _("then %(degrees)s°") % {"degrees": plain(stage.value_e4, locale=locale)}
        case StageKind.CHECK:
            torque = with_unit(stage.value_e4, unit=stage.unit, locale=locale)
            return _("check %(torque)s") % {"torque": torque}
    return with_unit(stage.value_e4, unit=stage.unit, locale=locale)


def pattern_words(row: TighteningSpec) -> str:
    """How the fasteners of a joint stand."""
    facts = {"columns": row.columns, "rows": row.rows}
    match PatternKind(row.pattern):
        case PatternKind.CIRCLE:
            return _("%(columns)s on a circle") % facts
        case PatternKind.LINE:
            return _("%(columns)s in a row") % facts
        case PatternKind.GRID:
            return _("%(rows)s rows of %(columns)s") % facts
    return _("round the rim of %(rows)s × %(columns)s") % facts


_TOLD: Mapping[ValueKind, tuple[tuple[str, ...], Callable[[Any, str], _Told]]] = {
    "capacity": (("point",), _capacity),
    "limit": (("kind", "point", "warmth"), _limit),
    "tightening": (("joint",), _tightening),
    "interval": (("hours", "months"), _interval),
    "fault": (("pk",), _fault),
    "bulletin": (("number",), _bulletin),
}


def _some(*said: str) -> tuple[str, ...]:
    return tuple(one for one in said if one)

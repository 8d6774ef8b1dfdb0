"""The spec book as it is read: the list of families, and everything about one with the page it came from."""

from dataclasses import dataclass

from django.db.models import Count
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.models import EngineFamily, Person
from shopapp.queries.figures import plain
from shopapp.queries.paging import ROWS_A_PAGE, Pager, pager_for
from shopapp.queries.spec_rows import ValueKind
from shopapp.queries.spec_words import ValueRow, value_rows
from shopapp.queries.versions import Conflict


@dataclass(frozen=True, kw_only=True)
class FamilyRow:
    """A family in the list."""

    pk: int
    words: str
    covers: str
    power: str
    engines: int
    is_active: bool


@dataclass(frozen=True, kw_only=True)
class FamilyList:
    """A page of families; ``is_all``: also those that are not offered any more."""

    rows: tuple[FamilyRow, ...]
    is_all: bool
    pager: Pager
    may_write: bool


@dataclass(frozen=True, kw_only=True)
class Section:
    """The values of one kind."""

    kind: ValueKind
    heading: str
    rows: tuple[ValueRow, ...]


@dataclass(frozen=True, kw_only=True)
class FamilyPage:
    """Everything the book says of a family."""

    pk: int
    words: str
    covers: str
    manual: str
    figures: tuple[ValueRow, ...]
    sections: tuple[Section, ...]
    engines: int
    is_active: bool
    may_write: bool


@dataclass(frozen=True, kw_only=True)
class FormPage:
    """A family, or a value of one, while it is written; ``slug`` is empty for what is new."""

    pk: int | None
    words: str
    kind: str
    heading: str
    slug: str
    may_remove: bool
    conflict: Conflict | None


def headings() -> dict[ValueKind, str]:
    """What each kind of value is called."""
    return {
        "capacity": _("Capacities"),
        "limit": _("Limits for readings"),
        "tightening": _("Tightening"),
        "interval": _("Service"),
        "fault": _("Known faults"),
        "bulletin": _("Bulletins"),
    }


def single(kind: ValueKind) -> str:
    """What one value of a kind is called."""
    names: dict[ValueKind, str] = {
        "capacity": _("Capacity"),
        "limit": _("Limit for a reading"),
        "tightening": _("Joint to tighten"),
        "interval": _("Service interval"),
        "fault": _("Known fault"),
        "bulletin": _("Bulletin"),
    }
    return names[kind]


def families_page(*, number: int, is_all: bool, viewer: Person) -> FamilyList:
    """A page of families by make and name. Two queries."""
    rows = EngineFamily.objects.all() if is_all else EngineFamily.objects.filter(is_active=True)
    pager = pager_for(rows.count(), wanted=number)
    shown = rows.annotate(hung=Count("engines")).order_by("make", "name")
    return FamilyList(
        rows=tuple(
            FamilyRow(
                pk=row.pk,
                words=f"{row}",
                covers=row.covers,
                power=_power(row),
                engines=row.hung,
                is_active=row.is_active,
            )
            for row in shown[pager.start : pager.start + ROWS_A_PAGE]
        ),
        is_all=is_all,
        pager=pager,
        may_write=access.may_write_spec_book(viewer),
    )


def family_page(family: EngineFamily, *, viewer: Person, locale: str) -> FamilyPage:
    """Everything about a family, with the figures in both units. Eight queries, however many values."""
    return FamilyPage(
        pk=family.pk,
        words=f"{family}",
        covers=family.covers,
        manual=family.manual,
        figures=_figures(family, locale=locale),
        sections=tuple(
            Section(kind=kind, heading=heading, rows=value_rows(family, kind, locale=locale))
            for kind, heading in headings().items()
        ),
        engines=family.engines.count(),
        is_active=family.is_active,
        may_write=access.may_write_spec_book(viewer),
    )


def offered_families(*, besides: int | None) -> tuple[tuple[int, str], ...]:
    """Families to choose from for an engine: those in use, and the one it has. One query."""
    rows = EngineFamily.objects.filter(is_active=True)
    if besides is not None:
        rows = rows | EngineFamily.objects.filter(pk=besides)
    return tuple((row.pk, f"{row}") for row in rows.order_by("make", "name"))


def _figures(family: EngineFamily, *, locale: str) -> tuple[ValueRow, ...]:
    throttle, ratio = "", ""
    if family.throttle_from_rpm is not None and family.throttle_to_rpm is not None:
        facts = {"lowest": family.throttle_from_rpm, "highest": family.throttle_to_rpm}
        throttle = _("%(lowest)s to %(highest)s rpm") % facts
    if family.gear_ratio_e4 is not None:
        ratio = _("%(turns)s : 1") % {"turns": plain(family.gear_ratio_e4, locale=locale)}
    told = (
        (_("Power"), _power(family), family.power_page),
        (_("Full throttle"), throttle, family.throttle_page),
        (_("Gear ratio"), ratio, family.gear_page),
        (_("Cylinders"), str(family.cylinders or ""), family.cylinders_page),
    )
    return tuple(
        ValueRow(slug="", what=what, figure=said, notes=(), page=page) for what, said, page in told if said
    )


def _power(family: EngineFamily) -> str:
    if family.power_from_tenths_hp is None or family.power_to_tenths_hp is None:
        return ""
    ends = sorted({family.power_from_tenths_hp, family.power_to_tenths_hp})
    return _("%(power)s hp") % {"power": "–".join(f"{one / 10:g}" for one in ends)}


def form_page(
    family: EngineFamily | None,
    *,
    kind: ValueKind | None = None,
    slug: str = "",
    conflict: Conflict | None = None,
) -> FormPage:
    """The page on which a family or one of its values is written. One query, for a family that is there."""
    is_family = kind is None
    return FormPage(
        pk=family.pk if family is not None else None,
        words=f"{family}" if family is not None else "",
        kind=kind or "",
        heading=single(kind) if kind is not None else _("Engine family"),
        slug=slug,
        may_remove=bool(slug) or (is_family and family is not None and not family.engines.exists()),
        conflict=conflict,
    )

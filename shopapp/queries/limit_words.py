"""Limits of the spec book in words, with the page they came from."""

from django.utils.translation import gettext as _

from shopapp.calc.units import FACTS, Unit
from shopapp.models import ReadingKind, ReadingLimit, Warmth
from shopapp.queries.figures import plain, with_unit


def limit_case(row: ReadingLimit) -> str:
    """What a limit is for: kind, place, warm or cold."""
    warmth = str(Warmth(row.warmth).label) if row.warmth else ""
    return ", ".join(filter(None, [str(ReadingKind(row.kind).label), row.point, warmth]))


def limit_figures(row: ReadingLimit, *, locale: str) -> str:
    """What a limit allows, in the unit of the manual and in the other one."""
    said = [_range(row, locale=locale)]
    if row.most_spread_e4 is not None:
        spread = plain(row.most_spread_e4, locale=locale)
        said.append(_("cylinders at most %(spread)s %% apart") % {"spread": spread})
    if row.loss_e4 is not None and row.loss_minutes_e4 is not None:
        facts = {
            "loss": with_unit(row.loss_e4, unit=row.unit, locale=locale),
            "minutes": plain(row.loss_minutes_e4, locale=locale),
        }
        said.append(_("at most %(loss)s lost in %(minutes)s min") % facts)
    return "; ".join(filter(None, said))


def limit_words(row: ReadingLimit, *, locale: str) -> str:
    """The limit with its page, as it is frozen beside a reading."""
    return _("%(limit)s (%(page)s)") % {"limit": limit_figures(row, locale=locale), "page": row.page}


def throttle_words(lowest: int, highest: int, *, page: str) -> str:
    """The maker's range at full throttle with its page."""
    return _("%(lowest)s to %(highest)s rpm (%(page)s)") % {
        "lowest": lowest,
        "highest": highest,
        "page": page,
    }


def _range(row: ReadingLimit, *, locale: str) -> str:
    least = "" if row.minimum_e4 is None else _shown(row, row.minimum_e4, locale=locale)
    most = "" if row.maximum_e4 is None else _shown(row, row.maximum_e4, locale=locale)
    if row.kind == ReadingKind.FLUID_LOSS:
        hourly = _("at most %(most)s an hour") % {"most": most} if most else ""
        left = _("at least %(least)s in it") % {"least": least} if least else ""
        return "; ".join(filter(None, [hourly, left]))
    if least and most:
        return _("%(least)s to %(most)s") % {"least": least, "most": most}
    if least:
        return _("at least %(least)s") % {"least": least}
    return _("at most %(most)s") % {"most": most} if most else ""


_WITHOUT_UNIT = {ReadingKind.LEAK_DOWN: "%", ReadingKind.VOLTAGE: "V", ReadingKind.FULL_THROTTLE: "rpm"}


def unit_word(kind: str, unit: str) -> str:
    """How the unit of a reading is written, also where it has only one.

    >>> unit_word("voltage", ""), unit_word("compression", "kpa")
    ('V', 'kPa')
    """
    return FACTS[Unit(unit)].symbol if unit else _WITHOUT_UNIT.get(ReadingKind(kind), "")


def _shown(row: ReadingLimit, e4: int, *, locale: str) -> str:
    if row.unit:
        return with_unit(e4, unit=row.unit, locale=locale)
    return f"{plain(e4, locale=locale)}\u00a0{unit_word(row.kind, '')}"

"""The used-oil log of a period as a table: what went in, what was handed over, what was struck out."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Model, QuerySet
from django.utils.translation import gettext as _

from shopapp.models import FluidCondition, WasteHandOver, WasteKind, WastePour
from shopapp.queries.tables import Cell, Table, in_batches
from shopapp.queries.used_oil import told_pours
from shopapp.queries.vessels import boat_words


def used_oil_table(*, first: date | None, last: date | None, time_zone: str) -> Table:
    """Both books of the period, the shop's days, both bounds included. One query for each 500 rows."""
    what = (_("Container"), _("Holds"), _("When"), _("In or out"), _("Litres"), _("What"), _("Looked"))
    whose = (_("Work order"), _("Collector"), _("Paper"), _("Logged by"), _("Struck out"))
    return Table(
        name=_("used-oil"),
        columns=(*what, *whose),
        rows=_rows(first=first, last=last, zone=ZoneInfo(time_zone)),
    )


def _rows(*, first: date | None, last: date | None, zone: ZoneInfo) -> Iterator[Sequence[Cell]]:
    taken = WasteHandOver.objects.select_related("container", "logged_by")
    for pour in in_batches(_within(told_pours(), first=first, last=last, zone=zone)):
        yield _pour(pour)
    for one in in_batches(_within(taken, first=first, last=last, zone=zone)):
        yield _hand_over(one)


def _within[Row: Model](
    rows: "QuerySet[Row]", *, first: date | None, last: date | None, zone: ZoneInfo
) -> "QuerySet[Row]":
    found = rows
    if first is not None:
        found = found.filter(happened_at__gte=datetime.combine(first, time.min, tzinfo=zone))
    if last is not None and last < date.max:
        ends = datetime.combine(last + timedelta(days=1), time.min, tzinfo=zone)
        found = found.filter(happened_at__lt=ends)
    return found


def _pour(row: WastePour) -> Sequence[Cell]:
    entry = row.fluid_entry
    visit = entry.job.work_order if entry is not None else None
    is_seen = row.condition and row.condition != FluidCondition.NOT_DRAINED
    struck = row.struck_reason or (entry.struck_reason if entry is not None else "")
    return (
        *_begun(row, way=_("in")),
        f"{entry.product}, {entry.point}" if entry is not None else row.what,
        str(FluidCondition(row.condition).label) if is_seen else None,
        f"{visit.number} {boat_words(visit.vessel)}" if visit is not None else None,
        *(None, None),
        row.logged_by.name,
        struck or None,
    )


def _hand_over(row: WasteHandOver) -> Sequence[Cell]:
    return (
        *_begun(row, way=_("out")),
        *(None, None, None),
        row.collector,
        row.paper_number or None,
        row.logged_by.name,
        row.struck_reason or None,
    )


def _begun(row: Any, *, way: str) -> Sequence[Cell]:
    kind = str(WasteKind(row.container.kind).label)
    return row.container.name, kind, row.happened_at, way, Decimal(row.volume_ml) / 1000

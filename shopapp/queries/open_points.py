"""Where plan and actual book do not meet: planned and not logged, logged and not on the plan."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from shopapp.calc.money import from_milli, quantize
from shopapp.models import Job, LineKind, Payer, QuoteLine, QuoteOption, TimeKind, Unit
from shopapp.queries.actual_rows import BOOK_OF, RowKey, slug_of
from shopapp.queries.actuals import BOOKS, MILLI, with_used
from shopapp.queries.approvals import Options, approved_options

# how many of the actual book's unit (minutes, millilitres) make one of the plan's
COUNTED = {Unit.HOUR: 60, Unit.LITRE: 1000}
COUNTED_IN_MILLI = (LineKind.PART, LineKind.SUBLET, LineKind.FEE)
HUNDREDTH = Decimal("0.01")
# kinds of which the rest is logged by one tap
ONE_TAP = (LineKind.PART, LineKind.FEE)
COLUMNS = ("id", "book", "what", "code", "job_id", "plan_line_id", "happened_at")


@dataclass(frozen=True, kw_only=True)
class PlannedLine:
    """A line the customer agreed to, and how much of it is logged; no prices.

    What is left of a part or a fee can be logged by one tap; hours and fluids need figures.
    """

    pk: int
    job_pk: int
    kind: str
    description: str
    number: str
    quantity: Decimal
    unit: str
    used: Decimal
    left: Decimal
    is_used: bool
    is_one_tap: bool


@dataclass(frozen=True, kw_only=True)
class LooseRow:
    """A row that the customer would pay, and whether it fulfils a planned line."""

    key: RowKey
    slug: str
    job_pk: int
    words: str
    is_planned: bool


@dataclass(frozen=True, kw_only=True)
class OpenPoints:
    """What to look at before work is finished or billed."""

    not_logged: tuple[PlannedLine, ...]
    not_planned: tuple[LooseRow, ...]
    rows: tuple[LooseRow, ...]


def open_points(jobs: Iterable[Job], *, options: Options | None = None) -> OpenPoints:
    """Planned lines that are not used up, and the customer's rows without a plan line; three queries.

    ``options`` are those in force for the jobs, where somebody has read them already (one query less).
    Struck rows count nowhere. A minimum charge is a sum, not a thing that is logged.
    """
    pks = [job.pk for job in jobs]
    found = approved_options(Job.objects.filter(pk__in=pks)) if options is None else options
    chosen = {option.pk: job for job, kept in found.items() for option in kept}
    rows = customers_rows(pks)
    return OpenPoints(
        rows=rows,
        not_logged=tuple(line for line in planned_lines(chosen) if not line.is_used),
        not_planned=tuple(row for row in rows if not row.is_planned),
    )


def planned_of(options: Iterable[QuoteOption], *, job_pk: int) -> tuple[PlannedLine, ...]:
    """The planned lines of a job's options in force. One query, none without an option."""
    return planned_lines({option.pk: job_pk for option in options})


def planned_lines(chosen: dict[int, int]) -> tuple[PlannedLine, ...]:
    """The lines of these options (option id → job id) with what was logged of each. One query."""
    if not chosen:
        return ()
    lines = QuoteLine.objects.filter(option__in=chosen, is_minimum_charge=False).defer("unit_cost_e4")
    ordered = with_used(lines).order_by("option__choice__job__position", "option", "position")
    return tuple(_planned_line(line, job_pk=chosen[line.option_id]) for line in ordered)


def _planned_line(line: QuoteLine, *, job_pk: int) -> PlannedLine:
    counted: int = line.used  # type: ignore[attr-defined]  # annotated by with_used
    units = MILLI if line.kind in COUNTED_IN_MILLI else COUNTED.get(Unit(line.unit), 1)
    used = quantize(Decimal(counted) / units, exponent=HUNDREDTH, mode="half_up")
    planned = from_milli(line.quantity_milli)
    return PlannedLine(
        pk=line.pk,
        job_pk=job_pk,
        kind=line.kind,
        description=line.description,
        number=line.number,
        quantity=planned,
        unit=str(Unit(line.unit).label),
        used=used,
        left=max(planned - used, Decimal(0)),
        is_used=used >= planned,
        is_one_tap=used < planned and line.kind in ONE_TAP,
    )


def customers_rows(jobs: Iterable[int]) -> tuple[LooseRow, ...]:
    """Every row of these jobs that the customer would pay, oldest first; one query."""
    theirs = {"job__in": list(jobs), "payer": Payer.CUSTOMER, "struck_at__isnull": True}
    books = [
        model._default_manager.filter(**theirs).annotate(**annotations).values(*COLUMNS)
        for model, annotations in BOOKS
    ]
    rows = books[0].union(*books[1:], all=True).order_by("happened_at", "book", "id")
    return tuple(_loose(values) for values in rows)


def _loose(values: Mapping[str, Any]) -> LooseRow:
    kind = LineKind(values["book"])
    key = (BOOK_OF[kind], values["id"])
    what = str(TimeKind(values["what"]).label) if kind == LineKind.LABOUR else values["what"]
    return LooseRow(
        key=key,
        slug=slug_of(key),
        job_pk=values["job_id"],
        words=" ".join(filter(None, [what, values["code"]])),
        is_planned=values["plan_line_id"] is not None,
    )
